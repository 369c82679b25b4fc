// The measuring page: photo, points and lengths brought together.
import { Lengths } from "./lengths.js";
import { guess } from "./places.js";
import { Points } from "./points.js";
import { backOnceKept, setStage, showRefusals } from "./stage.js";
import { keepHere } from "./unkept.js";

const form = document.querySelector("[data-measure]");
const data = JSON.parse(form.dataset.measure);
const points = new Points(data, form.querySelectorAll("[data-point]"));
const isBack = keepHere(form, data, points);
const { viewer, lens, handles } = setStage(form, data, points);
const lengths = new Lengths(form, data, points);
Object.assign(handles, { sizes: data.sizes, perMm: (key) => lengths.perMm(key) });
points.addEventListener("scaled", () => handles.draw());
handles.draw();
const scales = Object.values(data.needed).flat();

points.addEventListener("wanted", ({ detail: key }) => {
  points.put(key, guess(key, points, viewer));
  lens.show(key);
});
points.addEventListener("unwanted", ({ detail: key }) => points.takeAway(key));
const where = form.querySelector("[data-where]");
points.addEventListener("chosen", () => {
  const [text, mm] = [points.buttons.get(points.chosen)?.title ?? "", data.sizes[points.chosen]];
  where.textContent = mm ? `${text} ${where.dataset.ring.replace("#", mm.toLocaleString(document.documentElement.lang))}` : text;
});
form.querySelector("[data-take-away]").addEventListener("click", () => points.chosen && points.takeAway(points.chosen));

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
if (isBack) lengths.ask();
showRefusals();
backOnceKept();
form.toggleAttribute("data-ready", true);
