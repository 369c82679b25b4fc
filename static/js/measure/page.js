// The measuring page: photo, points and lengths brought together.
import { gestures } from "../gestures.js";
import { Viewer } from "../viewer.js";
import { Handles } from "./handles.js";
import { Lengths } from "./lengths.js";
import { Lens } from "./lens.js";
import { Points } from "./points.js";
import { frame, guess } from "./places.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

const form = document.querySelector("[data-measure]");
const data = JSON.parse(form.dataset.measure);
const stage = form.querySelector(".stage");
const viewer = new Viewer(stage);
const points = new Points(data, form.querySelectorAll("[data-point]"));
const handles = new Handles(viewer, points);
const lens = new Lens(form.querySelector(".lens"), viewer, points);
const lengths = new Lengths(form, data, points);
const scales = Object.values(data.needed).flat();

viewer.show({ screen: data.screen, full: data.full, width: data.width, height: data.height, alt: viewer.image.alt });
lens.load(data.full);
frame(viewer, points);

// drag: a ring under the finger is moved, else the photo is
let down = { x: 0, y: 0, type: "mouse" };
let held = null;
let off = [0, 0];
stage.addEventListener("pointerdown", (event) => { down = { x: event.clientX, y: event.clientY, type: event.pointerType }; }, true);
const pixels = ([x, y]) => [x * data.width, y * data.height];

gestures(viewer, {
  draws: () => Boolean(handles.near(down.x, down.y, down.type)),
  begin(place) {
    held = handles.near(down.x, down.y, down.type);
    points.choose(held);
    const [at, [x, y]] = [points.at(held), pixels(place)];
    off = [at[0] - x, at[1] - y];
    lens.show(held, true);
  },
  move(place) {
    const [x, y] = pixels(place);
    points.put(held, [x + off[0], y + off[1]], false);
    lens.show(held, true);
  },
  end() {
    points.settle(held);
    lens.show(held);
    held = null;
  },
  cancel() {
    if (held) points.settle(held);
    held = null;
    lens.hide();
  },
  choose() {},
  hover() {},
});

// keys: on the photo and on the points' own buttons alike
function keys(event, key) {
  const way = ARROWS[event.key];
  if (way && key) {
    if (!points.at(key)) points.choose(key, true);
    const step = event.shiftKey ? 10 : 1;
    points.nudge(key, way[0] * step, way[1] * step);
    viewer.reveal([points.at(key)[0] / data.width, points.at(key)[1] / data.height]);
    lens.show(key);
  } else if (event.key === "+" || event.key === "=") viewer.zoomBy(1.4);
  else if (event.key === "-") viewer.zoomBy(1 / 1.4);
  else if (event.key === "Delete" && key) points.takeAway(key);
  else return;
  event.preventDefault();
}
stage.addEventListener("keydown", (event) => event.target === stage && keys(event, points.chosen));
for (const [key, button] of points.buttons) {
  button.addEventListener("keydown", (event) => keys(event, key));
  button.addEventListener("click", () => { if (points.at(key)) lens.show(key); });
}

points.addEventListener("wanted", ({ detail: key }) => {
  points.put(key, guess(key, points, viewer));
  lens.show(key);
});
points.addEventListener("chosen", () => {
  const at = points.chosen && points.at(points.chosen);
  const [where, button] = [form.querySelector("[data-where]"), points.buttons.get(points.chosen)];
  where.textContent = button?.title ?? "";
  if (at) viewer.reveal([at[0] / data.width, at[1] / data.height]);
});
form.querySelector("[data-take-away]").addEventListener("click", () => points.chosen && points.takeAway(points.chosen));
form.querySelector("[data-reed]").addEventListener("click", () => frame(viewer, points));

// where the millimetres come from: its points are shown, the others put out of sight
function scale() {
  const chosen = form.elements.scale.value;
  for (const more of form.querySelectorAll("[data-scale]")) more.hidden = more.dataset.scale !== chosen;
  points.show(scales, false);
  points.show(data.needed[chosen] ?? [], true);
  form.elements.points.value = JSON.stringify(points);
}
form.addEventListener("change", (event) => {
  if (event.target.name === "scale") scale();
  if (["scale", "card"].includes(event.target.name)) lengths.ask();
});
form.addEventListener("input", (event) => {
  if (["known_mm", "foot_height", "tip_height"].includes(event.target.name)) lengths.ask();
});
scale();
// the sentence of a refusal and the findings are shown as well, not only what came out right
document.addEventListener("htmx:beforeSwap", ({ detail }) => {
  if (detail.target.id === "kept-lengths" && detail.xhr.status === 422) Object.assign(detail, { shouldSwap: true, isError: false });
});
form.toggleAttribute("data-ready", true);
