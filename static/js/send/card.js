// Whether the card lies mirrored in a photo, or stands out of it: its markers read on the phone, before the photo is up.
// As reeds/photo/vision/quality.py says it, which reads them by OpenCV. Nothing is said of a card that is not read.
// what the ten markers show, row by row, white as 1 (DICT_4X4_50), and where their middles lie, mm
const MARKERS = [0xb532, 0x0f9a, 0x332d, 0x9946, 0x549e, 0x79cd, 0x9e2e, 0xc4f2, 0xfeda, 0xcf56];
const PLACES = [[14, 13], [54, 13], [94, 13], [134, 13], [14, 52.5], [134, 52.5], [14, 92], [54, 92], [94, 92], [134, 92]];
const [ABOVE, BELOW] = [[0, 1, 2, 3], [6, 7, 8, 9]];
const [ENOUGH, FEW, IN_A_MIRROR] = [4, 2, 3];
const CELLS = 6; // across a marker with its black edge
const SHADE = 8; // grey levels below what lies about it: dark
const LEAST_PX = 14;
const LEAST_CONTRAST = 30;

// 1 where a pixel is darker than the square about it, which is wider than a marker's edge
function darkParts({ grey, width, height }) {
  const reach = Math.round(Math.max(width, height) / 25), wide = width + 1;
  const sums = new Float64Array(wide * (height + 1));
  for (let y = 0; y < height; y += 1) {
    for (let x = 0, row = 0; x < width; x += 1) {
      row += grey[y * width + x];
      sums[(y + 1) * wide + x + 1] = sums[y * wide + x + 1] + row;
    }
  }
  const dark = new Uint8Array(width * height);
  for (let y = 0; y < height; y += 1) {
    const [top, bottom] = [Math.max(0, y - reach), Math.min(height, y + reach + 1)];
    for (let x = 0; x < width; x += 1) {
      const [left, right] = [Math.max(0, x - reach), Math.min(width, x + reach + 1)];
      const sum = sums[bottom * wide + right] - sums[top * wide + right] - sums[bottom * wide + left] + sums[top * wide + left];
      dark[y * width + x] = grey[y * width + x] < sum / ((bottom - top) * (right - left)) - SHADE;
    }
  }
  return dark;
}

// the pixels of each dark part that hangs together; what was seen is taken out of `dark`
function* parts(dark, width) {
  const stack = new Int32Array(dark.length);
  for (let start = 0; start < dark.length; start += 1) {
    if (!dark[start]) continue;
    let [seen, end] = [0, 1];
    stack[0] = start;
    dark[start] = 0;
    while (seen < end) {
      const at = stack[seen], x = at % width;
      seen += 1;
      for (const next of [x > 0 && at - 1, x < width - 1 && at + 1, at - width, at + width]) {
        if (!dark[next]) continue;
        dark[next] = 0;
        stack[end] = next;
        end += 1;
      }
    }
    yield stack.subarray(0, end);
  }
}

const far = ([x, y], [u, v]) => (x - u) ** 2 + (y - v) ** 2;

// the four corners of what may be a marker, clockwise; null for what is none by its size or shape
function cornersOf(part, width, longest) {
  if (part.length < LEAST_PX ** 2 / 2 || part.length > (longest / 3) ** 2) return null;
  const place = (at) => [(at % width) + 0.5, Math.floor(at / width) + 0.5];
  const farthest = (measure) => {
    let [best, most] = [part[0], -Infinity];
    for (const at of part) {
      const found = measure(place(at));
      if (found > most) [best, most] = [at, found];
    }
    return place(best);
  };
  const first = farthest((one) => far(one, place(part[0])));
  const third = farthest((one) => far(one, first));
  const aside = ([x, y]) => (third[0] - first[0]) * (y - first[1]) - (third[1] - first[1]) * (x - first[0]);
  const [second, fourth] = [farthest((one) => -aside(one)), farthest(aside)];
  const whole = far(first, third);
  if (whole < 2 * LEAST_PX ** 2 || -aside(second) < whole / 4 || aside(fourth) < whole / 4) return null;
  return [first, second, third, fourth];
}

// from the unit square to four corners (Heckbert, Fundamentals of Texture Mapping, 1989, 2.2.3)
function onto([[x0, y0], [x1, y1], [x2, y2], [x3, y3]]) {
  const [dx1, dy1, dx2, dy2] = [x1 - x2, y1 - y2, x3 - x2, y3 - y2];
  const [dx, dy, whole] = [x0 - x1 + x2 - x3, y0 - y1 + y2 - y3, dx1 * dy2 - dy1 * dx2];
  const [g, h] = [(dx * dy2 - dy * dx2) / whole, (dx1 * dy - dy1 * dx) / whole];
  return (u, v) => {
    const w = g * u + h * v + 1;
    return [((x1 - x0 + g * x1) * u + (x3 - x0 + h * x3) * v + x0) / w, ((y1 - y0 + g * y1) * u + (y3 - y0 + h * y3) * v + y0) / w];
  };
}

// how bright each cell is, row by row
function cellsIn({ grey, width, height }, corners) {
  const point = onto(corners);
  return Array.from({ length: CELLS ** 2 }, (_, cell) => {
    let sum = 0;
    for (const right of [0.3, 0.5, 0.7]) {
      for (const down of [0.3, 0.5, 0.7]) {
        const [x, y] = point(((cell % CELLS) + right) / CELLS, (Math.floor(cell / CELLS) + down) / CELLS);
        const [column, row] = [Math.floor(x), Math.floor(y)];
        sum += column >= 0 && row >= 0 && column < width && row < height ? grey[row * width + column] : 255;
      }
    }
    return sum / 9;
  });
}

// the rows of white and dark within a marker's edge; null where the edge is not dark all round
function bitsOf(cells) {
  const [least, most] = [Math.min(...cells), Math.max(...cells)];
  if (most - least < LEAST_CONTRAST) return null;
  const white = cells.map((cell) => cell > (least + most) / 2);
  const within = (at) => at > 0 && at < CELLS - 1;
  const isInside = (cell) => within(cell % CELLS) && within(Math.floor(cell / CELLS));
  return white.some((one, cell) => one && !isInside(cell)) ? null : white.filter((_, cell) => isInside(cell));
}

// which marker that is, however it is turned; -1 for none
function numberOf(bits) {
  let turned = bits;
  for (let turn = 0; turn < 4; turn += 1) {
    const found = MARKERS.indexOf(turned.reduce((sum, one) => 2 * sum + one, 0));
    if (found >= 0) return found;
    turned = bits.map((_, at) => turned[4 * (3 - (at % 4)) + Math.floor(at / 4)]);
  }
  return -1;
}

const flipped = (bits) => bits.map((_, at) => bits[4 * Math.floor(at / 4) + 3 - (at % 4)]);

// The markers that are read, each with its middle, and how many are read as in a mirror.
export function markersIn(picture) {
  const { width, height } = picture, seen = new Map(), mirrored = new Set();
  for (const part of parts(darkParts(picture), width)) {
    const corners = cornersOf(part, width, Math.max(width, height));
    const bits = corners && bitsOf(cellsIn(picture, corners));
    if (!bits) continue;
    const [number, other] = [numberOf(bits), numberOf(flipped(bits))];
    if (number >= 0) seen.set(number, onto(corners)(0.5, 0.5));
    if (other >= 0) mirrored.add(other);
  }
  return { seen, mirrored };
}

// whether one that is not read would lie outside, as two that are read lie: turned and enlarged by one number
function standsOut(seen, { width, height }) {
  const numbers = [...seen.keys()];
  const pairs = numbers.flatMap((one) => numbers.map((other) => [one, other]));
  const [one, other] = pairs.sort(([a, b], [c, d]) => far(PLACES[c], PLACES[d]) - far(PLACES[a], PLACES[b]))[0];
  const apart = (from, to) => [to[0] - from[0], to[1] - from[1]];
  const [[u, v], [x, y]] = [apart(PLACES[one], PLACES[other]), apart(seen.get(one), seen.get(other))];
  const [real, turned] = [(x * u + y * v) / (u * u + v * v), (y * u - x * v) / (u * u + v * v)];
  return PLACES.some((place, number) => {
    const [right, down] = apart(PLACES[one], place), [left, top] = seen.get(one);
    const [px, py] = [left + real * right - turned * down, top + turned * right + real * down];
    return !seen.has(number) && (px < 0 || py < 0 || px > width || py > height);
  });
}

// A picture in grey, {grey, width, height} -> ["mirrored"], ["cut"] or [].
export function flawsOfCard(picture) {
  const { seen, mirrored } = markersIn(picture);
  const has = (side) => side.some((number) => seen.has(number));
  if (seen.size >= ENOUGH && has(ABOVE) && has(BELOW)) return [];
  if (mirrored.size >= IN_A_MIRROR) return ["mirrored"];
  return seen.size >= FEW && standsOut(seen, picture) ? ["cut"] : [];
}
