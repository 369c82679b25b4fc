// Pixels to millimetres on the reed: the server's 3x3 matrices applied, and distances taken.
// The same sum as reeds/photo/vision/projection.py; tests/data/projection_cases.json holds both to it.
export function toPlane([[a, b, c], [d, e, f], [g, h, i]], [x, y]) {
  const w = g * x + h * y + i;
  return [(a * x + b * y + c) / w, (d * x + e * y + f) / w];
}

export function distanceMm(matrix, start, stop, other = matrix) {
  const [[x1, y1], [x2, y2]] = [toPlane(matrix, start), toPlane(other, stop)];
  return Math.hypot(x2 - x1, y2 - y1);
}
