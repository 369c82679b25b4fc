// What the camera wrote into a JPEG (focal length, time), put into a smaller picture of it, which stands upright already.
const EXIF = 0xe1;
const ORIENTATION = 0x0112;
const HEAD = 18; // bytes of a segment before its first directory's address: marker, length, "Exif", the order of bytes
const LONGEST = 256 * 1024; // so far into a file cameras write it

// The segment of Exif (CIPA DC-008, 4.5.4) of a JPEG as bytes, null if there is none.
function segmentOf(bytes) {
  const view = new DataView(bytes.buffer);
  if (view.byteLength < 4 || view.getUint16(0) !== 0xffd8) return null;
  for (let at = 2; at + 4 <= view.byteLength && view.getUint8(at) === 0xff;) {
    const length = view.getUint16(at + 2) + 2;
    const isExif = view.getUint8(at + 1) === EXIF && String.fromCharCode(...bytes.slice(at + 4, at + 8)) === "Exif";
    if (isExif && length > HEAD && at + length <= view.byteLength) return bytes.slice(at, at + length);
    if (view.getUint8(at + 1) === 0xda) return null; // the picture itself begins
    at += length;
  }
  return null;
}

// Says 'upright' in its first directory (TIFF 6.0: entries of twelve bytes after their count).
function upright(segment) {
  const view = new DataView(segment.buffer);
  const little = view.getUint16(10) === 0x4949;
  const first = 10 + view.getUint32(14, little);
  for (let n = view.getUint16(first, little), at = first + 2; n > 0; n -= 1, at += 12) {
    if (view.getUint16(at, little) === ORIENTATION) view.setUint16(at + 8, 1, little);
  }
  return segment;
}

export async function withCamera(smaller, original) {
  try {
    const segment = segmentOf(new Uint8Array(await original.slice(0, LONGEST).arrayBuffer()));
    if (!segment) return smaller;
    return new Blob([smaller.slice(0, 2), upright(segment), smaller.slice(2)], { type: "image/jpeg" });
  } catch {
    return smaller; // a directory that leads out of its segment
  }
}
