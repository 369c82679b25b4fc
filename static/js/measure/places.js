// Where to look, and where a point that is not there yet probably belongs.
// shares of the way from foot to tip: common practice, no source; a person moves the point at once
const SHARES = { staple_foot: 0, thread_end: 0.63, scrape_start: 0.84, back_start: 0.9, tip_start: 0.96, tip: 1 };
const BESIDE = {
  ruler_start: [0.25, 0.75], ruler_stop: [0.75, 0.75],
  corner_1: [0.3, 0.3], corner_2: [0.7, 0.3], corner_3: [0.7, 0.7], corner_4: [0.3, 0.7],
};

// the part of the photo that is in sight, as fractions
function sight(viewer) {
  const { width, height } = viewer.leafSize;
  const [wide, high] = [Math.min(viewer.stage.clientWidth, width), Math.min(viewer.stage.clientHeight, height)];
  return { left: Math.max(0, -viewer.left) / width, top: Math.max(0, -viewer.top) / height, wide: wide / width, high: high / height };
}

export function guess(key, points, viewer) {
  const [foot, tip] = [points.at("staple_foot"), points.at("tip")];
  if (foot && tip && key in SHARES) return foot.map((start, i) => start + (tip[i] - start) * SHARES[key]);
  if (foot && tip && key.startsWith("tip_")) {
    const side = key === "tip_left" ? -0.048 : 0.048;
    return [tip[0] - (tip[1] - foot[1]) * side, tip[1] + (tip[0] - foot[0]) * side];
  }
  const seen = sight(viewer);
  const [x, y] = BESIDE[key] ?? [0.15 + 0.7 * (SHARES[key] ?? 1), 0.5];
  return [(seen.left + x * seen.wide) * points.size[0], (seen.top + y * seen.high) * points.size[1]];
}

// bring all points into sight, as large as they fit
export function frame(viewer, points) {
  viewer.fit();
  const places = points.shown.map(({ at }) => [at[0] / points.size[0], at[1] / points.size[1]]);
  if (places.length < 2) return;
  const [xs, ys] = [places.map(([x]) => x), places.map(([, y]) => y)];
  const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const { width, height } = viewer.fitted;
  const room = Math.min(viewer.stage.clientWidth / ((right - left) * width || 1), viewer.stage.clientHeight / ((bottom - top) * height || 1));
  viewer.zoom = Math.max(1, Math.min(6, 0.8 * room));
  viewer.left = viewer.stage.clientWidth / 2 - ((left + right) / 2) * width * viewer.zoom;
  viewer.top = viewer.stage.clientHeight / 2 - ((top + bottom) / 2) * height * viewer.zoom;
  viewer.place();
}
