// Draws marks into an SVG whose units are CSS pixels of the photo as it stands; strokes stay equally wide.
const NS = "http://www.w3.org/2000/svg";
const BADGE = 12;
const WING = 16;

function element(name, attributes, text = "") {
  const made = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text) made.textContent = text;
  return made;
}

const path = (points) => points.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");

function head([[x1, y1], [x2, y2]]) {
  const back = Math.atan2(y1 - y2, x1 - x2);
  const wing = (turn) => [x2 + WING * Math.cos(back + turn), y2 + WING * Math.sin(back + turn)];
  return [wing(-0.5), [x2, y2], wing(0.5)];
}

function outlines({ kind }, points) {
  if (kind === "point" || points.length === 1) return [["circle", { cx: points[0][0], cy: points[0][1], r: 6 }]];
  if (kind === "outline") return [["polygon", { points: path(points) }]];
  const stroke = ["polyline", { points: path(points) }];
  return kind === "arrow" ? [stroke, ["polyline", { points: path(head(points)) }]] : [stroke];
}

function one(mark, viewer, chosen) {
  const { width, height } = viewer.leafSize;
  const points = mark.points.map((point) => viewer.onLeaf(point));
  const group = element("g", { class: `mark mark-${mark.kind}${chosen ? " is-chosen" : ""}${mark.number ? "" : " is-begun"}`, "data-key": mark.key ?? "" });
  for (const layer of ["halo", "ink"]) {
    for (const [name, attributes] of outlines(mark, points)) group.append(element(name, { ...attributes, class: layer }));
  }
  if (!mark.number) return group;
  const [x, y] = [Math.min(width - BADGE, points[0][0] + BADGE), Math.max(BADGE, points[0][1] - BADGE)];
  group.append(element("circle", { class: "badge", cx: x, cy: y, r: BADGE }));
  group.append(element("text", { class: "badge-number", x, y }, String(mark.number)));
  if (mark.length) group.append(element("text", { class: "mark-length", x: (points[0][0] + points.at(-1)[0]) / 2, y: (points[0][1] + points.at(-1)[1]) / 2 - 8 }, mark.length));
  return group;
}

// viewer: where places of the photo are; marks: [{kind, points, number, length, key}]; begun: a mark under way; cross: where the keyboard's cross stands
export function draw(viewer, marks, { chosen = "", begun = null, cross = null } = {}) {
  const { svg, leafSize } = viewer;
  svg.setAttribute("viewBox", `0 0 ${leafSize.width} ${leafSize.height}`);
  svg.replaceChildren(...marks.map((mark) => one(mark, viewer, mark.key === chosen)));
  if (begun?.points.length) svg.append(one(begun, viewer, false));
  if (cross) {
    const [x, y] = viewer.onLeaf(cross);
    svg.append(element("path", { class: "cross-halo", d: `M${x - 18} ${y}h36M${x} ${y - 18}v36` }));
    svg.append(element("path", { class: "cross", d: `M${x - 18} ${y}h36M${x} ${y - 18}v36` }));
  }
}

// how far a place is from a mark, in pixels, so that a click can choose it
export function distance({ points }, place, viewer) {
  const [px, py] = viewer.onLeaf(place);
  const ends = points.map((point) => viewer.onLeaf(point));
  if (ends.length === 1) return Math.hypot(ends[0][0] - px, ends[0][1] - py);
  return Math.min(...ends.slice(1).map((end, index) => fromSegment([px, py], ends[index], end)));
}

function fromSegment([px, py], [ax, ay], [bx, by]) {
  const [dx, dy] = [bx - ax, by - ay];
  const along = Math.min(1, Math.max(0, ((px - ax) * dx + (py - ay) * dy) / (dx * dx + dy * dy || 1)));
  return Math.hypot(px - ax - along * dx, py - ay - along * dy);
}
