// A line's millimetres from a known length on the same photo; the same sum as lessons/annotation.py.
export const CLICK = 0.0015;
export const U_PLANE = 0.02 / Math.sqrt(3);

const pixels = ([[x1, y1], [x2, y2]], width, height) => Math.hypot((x2 - x1) * width, (y2 - y1) * height);

// points of the line, points of the known length, how long that is in mm, the picture's size -> {value, u} in mm
export function lengthMm(line, known, knownMm, width, height) {
  const [measured, scale] = [pixels(line, width, height), pixels(known, width, height)];
  if (!measured || !scale || !knownMm) return null;
  const ends = Math.SQRT2 * CLICK * Math.max(width, height);
  const value = (measured / scale) * knownMm;
  return { value, u: value * Math.hypot(ends / measured, ends / scale, U_PLANE) };
}

export function inMm({ value, u }) {
  const decimals = u >= 0.095 ? 1 : 2;
  const said = (number) => number.toLocaleString(document.documentElement.lang, { minimumFractionDigits: decimals, maximumFractionDigits: decimals });
  return `${said(value)} ± ${said(u)} mm`;
}

// the marks of one photo, lines with their millimetres by the known length that was set last
export function withLengths(marks, { width, height }) {
  const scale = marks.findLast((mark) => mark.kind === "scale");
  return marks.map((mark) => {
    if (mark.kind === "scale") return { ...mark, length: `${mark.known_mm} mm` };
    const length = mark.kind === "line" && scale && lengthMm(mark.points, scale.points, scale.known_mm, Number(width), Number(height));
    return { ...mark, length: length ? inMm(length) : "" };
  });
}
