// Whether a photo had better be taken again, seen on the phone before it is up: too dark, blurred, few pixels, the card
// mirrored or cut off. Judged as reeds/photo/vision/quality.py does, whose limits these are; a picture that this
// browser cannot open is not judged.
import { flawsOfCard } from "./card.js";

const LONG_SIDE = 800;
const DARKEST_HIGHLIGHT = 70;
const BLUR_SHARE = 0.002;
const LEAST_LONG_SIDE = 1000;
const TILE = 100;
const LEAST_SLOPE = 4;
const LEAST_EDGE = 30;
const FINE = 1.5;
const COARSE = 3;

function greyOf(picture, side) {
  const share = Math.min(1, side / Math.max(picture.width, picture.height));
  const [width, height] = [picture.width, picture.height].map((side) => Math.max(1, Math.round(side * share)));
  const canvas = document.createElement("canvas");
  Object.assign(canvas, { width, height });
  const context = canvas.getContext("2d", { willReadFrequently: true });
  context.imageSmoothingQuality = "high";
  context.drawImage(picture, 0, 0, width, height);
  const { data } = context.getImageData(0, 0, width, height);
  const grey = new Float32Array(width * height);
  for (let i = 0; i < grey.length; i += 1) grey[i] = 0.299 * data[4 * i] + 0.587 * data[4 * i + 1] + 0.114 * data[4 * i + 2];
  return { grey, width, height };
}

const at = (sorted, share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];

// one direction of a Gaussian smoothing; what lies outside is as the edge
function smoothed(grey, count, length, stepAlong, stepAcross, sigma) {
  const reach = Math.ceil(4 * sigma);
  const weights = Array.from({ length: 2 * reach + 1 }, (_, i) => Math.exp(-((i - reach) ** 2) / (2 * sigma * sigma)));
  const whole = weights.reduce((sum, one) => sum + one, 0);
  const out = new Float32Array(grey.length);
  for (let across = 0; across < count; across += 1) {
    for (let i = 0; i < length; i += 1) {
      let sum = 0;
      for (let k = -reach; k <= reach; k += 1) {
        const j = Math.min(length - 1, Math.max(0, i + k));
        sum += weights[k + reach] * grey[across * stepAcross + j * stepAlong];
      }
      out[across * stepAcross + i * stepAlong] = sum / whole;
    }
  }
  return out;
}

function slopes({ grey, width, height }, sigma) {
  const soft = smoothed(smoothed(grey, height, width, 1, width, sigma), width, height, width, 1, sigma);
  const steep = new Float32Array(soft.length);
  for (let y = 1; y < height - 1; y += 1) {
    for (let i = y * width + 1; i < (y + 1) * width - 1; i += 1) {
      steep[i] = Math.hypot(soft[i + 1] - soft[i - 1], soft[i + width] - soft[i - width]) / 2;
    }
  }
  return steep;
}

// the blur of one tile's steepest edges, px; none without an edge to judge by
function tileBlur(fine, coarse, places) {
  const least = Math.max(LEAST_SLOPE, at(Float32Array.from(places, (i) => coarse[i]).sort(), 0.99));
  const steep = places.filter((i) => coarse[i] >= least);
  if (steep.length < LEAST_EDGE) return null;
  const ratio2 = at(Float32Array.from(steep, (i) => fine[i] / coarse[i]).sort(), 0.5) ** 2;
  return Math.sqrt(Math.max(0, COARSE ** 2 - ratio2 * FINE ** 2) / Math.max(ratio2 - 1, 1e-6));
}

function sharpest(picture) {
  const { width, height } = picture;
  const [fine, coarse] = [FINE, COARSE].map((sigma) => slopes(picture, sigma));
  const blurs = [];
  for (let top = 0; top < height; top += TILE) {
    for (let left = 0; left < width; left += TILE) {
      const places = [];
      for (let y = top; y < Math.min(height, top + TILE); y += 1) {
        for (let x = left; x < Math.min(width, left + TILE); x += 1) places.push(y * width + x);
      }
      const blur = tileBlur(fine, coarse, places);
      if (blur !== null) blurs.push(blur);
    }
  }
  return blurs.sort((one, other) => one - other)[1];
}

async function opened(blob) {
  const image = new Image();
  image.src = URL.createObjectURL(blob);
  try {
    await image.decode();
    return image;
  } catch {
    return null;
  } finally {
    URL.revokeObjectURL(image.src);
  }
}

export async function flawsOf(blob) {
  const image = await opened(blob);
  if (!image) return [];
  const few = Math.max(image.naturalWidth, image.naturalHeight) < LEAST_LONG_SIDE ? ["small"] : [];
  const picture = greyOf(image, LONG_SIDE);
  if (at(Float32Array.from(picture.grey).sort(), 0.99) < DARKEST_HIGHLIGHT) return ["dark", ...few];
  const blur = sharpest(picture);
  if (blur > BLUR_SHARE * Math.hypot(picture.width, picture.height)) return ["blurred", ...few];
  return [...flawsOfCard(greyOf(image, 2 * LONG_SIDE)), ...few];
}

// Says it beside the thumbnail, in the words that the page has, and gives it back.
export async function advise(item, blob) {
  const words = document.getElementById("advice");
  const flaws = words ? await flawsOf(blob) : [];
  for (const flaw of flaws) {
    const line = words.content.firstElementChild.cloneNode(true);
    line.textContent = words.dataset[flaw];
    item.querySelector("img")?.after(line);
  }
  return flaws;
}
