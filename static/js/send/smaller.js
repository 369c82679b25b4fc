// A photo made smaller by the phone itself, for a poor line: still large enough to be measured on.
import { withCamera } from "./exif.js";

const LONG_SIDE = 2500; // pixels; what it costs in doubt is measured by tests/accuracy/smaller.py
const QUALITY = 0.9;

const longSide = (image) => Math.max(image.naturalWidth, image.naturalHeight);
export const isLarge = (image) => longSide(image) > 1.2 * LONG_SIDE;

// Returns the smaller JPEG, or null where this browser cannot make one; `image` shows the photo, upright
export async function made(image, original) {
  const scale = LONG_SIDE / longSide(image);
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(image.naturalWidth * scale);
  canvas.height = Math.round(image.naturalHeight * scale);
  const context = canvas.getContext("2d");
  if (!context) return null;
  context.imageSmoothingQuality = "high";
  context.drawImage(image, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise((resolve) => { canvas.toBlob(resolve, "image/jpeg", QUALITY); });
  return blob && blob.size < original.size ? withCamera(blob, original) : null;
}
