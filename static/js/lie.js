// How a photo lies on the stage: as it was taken, or flat by its own scale, the reed's foot to the left.
// A place is a fraction of the upright photo; the sheet it lies on counts in its pixels, or in mm where it is flat.
import { toPlane } from "./projection.js";

const NEAREST = 0.05; // the horizon of a photo is not laid flat

const minus = (a, b, c, d) => a * d - b * c;

function inverse([[a, b, c], [d, e, f], [g, h, i]]) {
  return [
    [minus(e, f, h, i), minus(c, b, i, h), minus(b, c, e, f)],
    [minus(f, d, i, g), minus(a, c, g, i), minus(c, a, f, d)],
    [minus(d, e, g, h), minus(b, a, h, g), minus(a, b, d, e)],
  ];
}

function around(places) {
  const [us, vs] = [places.map(([u]) => u), places.map(([, v]) => v)];
  const [left, top] = [Math.min(...us), Math.min(...vs)];
  return { left, top, width: Math.max(...us) - left, height: Math.max(...vs) - top };
}

function upright(width, height) {
  const box = { left: 0, top: 0, width, height };
  return { isFlat: false, box, home: box, to: ([x, y]) => [x * width, y * height], from: ([u, v]) => [u / width, v / height] };
}

const isBeforeUs = ([, , [g, h, i]]) => ([x, y]) => (g * x + h * y + i) / i > NEAREST;

// the photo's size in px and its own scale as text, "" for none -> where its places are on the sheet, and back
export function lieOf({ width, height, plane }) {
  const [wide, high] = [Number(width) || 1000, Number(height) || 1000];
  const corners = [[0, 0], [wide, 0], [wide, high], [0, high]];
  const own = plane ? JSON.parse(plane) : null;
  if (!own || !corners.every(isBeforeUs(own.matrix))) return upright(wide, high);
  const [left, top, right, bottom] = own.window;
  const back = inverse(own.matrix);
  return {
    isFlat: true,
    isClicked: own.clicked,
    matrix: own.matrix,
    photo: { width: wide, height: high },
    box: around(corners.map((corner) => toPlane(own.matrix, corner))),
    home: { left, top, width: right - left, height: bottom - top },
    to: ([x, y]) => toPlane(own.matrix, [x * wide, y * high]),
    from: (place) => { const [x, y] = toPlane(back, place); return [x / wide, y / high]; },
  };
}
