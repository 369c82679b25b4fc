// The page of the opening: the outline drawn live through its points, the figures from the server.
import { Asking, say } from "./ask.js";
import { Points } from "./points.js";
import { backOnceKept, setStage, showRefusals } from "./stage.js";
import { keepHere } from "./unkept.js";

const SVG = "http://www.w3.org/2000/svg";
const form = document.querySelector("[data-measure]");
const data = JSON.parse(form.dataset.measure);
const points = new Points(data, form.querySelectorAll("[data-point]"));
const start = data.found; // the outline as it was found: what is moved is moved from there
const isBack = keepHere(form, data, points);
const { viewer } = setStage(form, data, points);
const said = form.querySelector("#said");

const line = viewer.svg.insertBefore(document.createElementNS(SVG, "path"), viewer.svg.firstChild);
line.setAttribute("class", "gap-line");

// the shift of the points is spread along the edge between them; the same sum as reeds/photos/outline.py
function edge(name) {
  const shift = (i) => points.at(`${name}_${i}`).map((at, axis) => at - start[`${name}_${i}`][axis]);
  return data.edges[name].map((place, i) => {
    const before = Math.min(Math.floor(i / data.step), data.controls - 2);
    const [a, b, share] = [shift(before), shift(before + 1), i / data.step - before];
    return place.map((at, axis) => at + a[axis] * (1 - share) + b[axis] * share);
  });
}

function draw() {
  const { width, height } = viewer.leafSize;
  const places = [...edge("upper"), ...edge("lower").reverse()];
  const on = ([x, y]) => `${((x / data.width) * width).toFixed(1)} ${((y / data.height) * height).toFixed(1)}`;
  line.setAttribute("d", `M${places.map(on).join("L")}Z`);
}
viewer.addEventListener("placed", draw);
points.addEventListener("moved", draw);
draw();

function show(figures) {
  for (const place of form.querySelectorAll("[data-figure]")) place.textContent = figures[place.dataset.figure] ?? "–";
}
const asking = new Asking(form, data.figures, points, {
  take: (told) => { show(told.figures); say(said, [], false); },
  refuse: (why) => { show({}); say(said, [why], true); },
});
const answered = () => form.elements.marked.value && form.elements.camera.value;
points.addEventListener("moved", ({ detail }) => {
  form.elements.points.value = JSON.stringify(points);
  if (detail.done && answered()) asking.soon();
});
form.addEventListener("input", () => answered() && asking.soon());
form.elements.points.value = JSON.stringify(points);
if (isBack && answered()) asking.soon();
showRefusals();
backOnceKept();
form.toggleAttribute("data-ready", true);
