// A line's millimetres: by the photo's own scale where it was measured, else by a known length on it.
// The same sums as lessons/answering/annotation.py.
import { toPlane } from "./projection.js";

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

const BESIDE_MM = 5;

const onReed = ([along, across], [start, stop]) => along >= start - BESIDE_MM && along <= stop + BESIDE_MM && Math.abs(across) <= BESIDE_MM;

// points of the line, the photo's own scale {matrix, share, off_reed, reach, uneven_mm}, the picture's size -> {value, u} in mm
export function lengthOnPlane(line, { matrix, share, off_reed: offReed, reach, uneven_mm: uneven = 0 }, width, height) {
  const ends = line.map(([x, y]) => toPlane(matrix, [x * width, y * height]));
  const [value, drawn] = [Math.hypot(ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]), pixels(line, width, height)];
  if (!value || !drawn) return null;
  const off = ends.every((end) => onReed(end, reach)) ? 0 : offReed;
  return { value, u: Math.hypot(Math.SQRT2 * CLICK * Math.max(width, height) * (value / drawn), value * share, value * off, uneven) };
}

export function inMm({ value, u }) {
  const decimals = u >= 0.095 ? 1 : 2;
  const said = (number) => number.toLocaleString(document.documentElement.lang, { minimumFractionDigits: decimals, maximumFractionDigits: decimals });
  return `${said(value)} ± ${said(u)} mm`;
}

// the marks of one photo, lines with their millimetres: as it was measured, else by the known length that was set
// last, else by the card that was found on it
export function withLengths(marks, { width, height, plane }, { about }) {
  const scale = marks.findLast((mark) => mark.kind === "scale");
  const own = plane ? JSON.parse(plane) : null;
  const [w, h] = [Number(width), Number(height)];
  const byKnown = scale && !own?.clicked;
  const measured = (line) => (byKnown ? lengthMm(line, scale.points, scale.known_mm, w, h) : own && lengthOnPlane(line, own, w, h));
  const told = (length) => (byKnown || own.clicked ? inMm(length) : about.replace("%s", inMm(length)));
  return marks.map((mark) => {
    if (mark.kind === "scale") return { ...mark, length: `${mark.known_mm} mm` };
    const length = mark.kind === "line" && measured(mark.points);
    return { ...mark, length: length ? told(length) : "" };
  });
}
