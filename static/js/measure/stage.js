// What every page with points on a photo does alike: zoom, drag by mouse, pen and finger, keys, the lens.
import { gestures } from "../gestures.js";
import { Viewer } from "../viewer.js";
import { Handles } from "./handles.js";
import { Lens } from "./lens.js";
import { frame } from "./places.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

export function setStage(form, data, points) {
  const stage = form.querySelector(".stage");
  const viewer = new Viewer(stage);
  const handles = new Handles(viewer, points);
  const lens = new Lens(form.querySelector(".lens"), viewer, points);
  const fraction = (key) => [points.at(key)[0] / data.width, points.at(key)[1] / data.height];
  const pixels = ([x, y]) => [x * data.width, y * data.height];

  viewer.show({ screen: data.screen, large: data.large, full: data.full, width: data.width, height: data.height, alt: viewer.image.alt });
  lens.from([data.large, data.full]);
  frame(viewer, points);

  // drag: a ring under the finger is moved, else the photo is
  let down = { x: 0, y: 0, type: "mouse" };
  let held = null;
  let off = [0, 0];
  stage.addEventListener("pointerdown", (event) => { down = { x: event.clientX, y: event.clientY, type: event.pointerType }; }, true);
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
      points.choose(key, true);
      const step = event.shiftKey ? 10 : 1;
      points.nudge(key, way[0] * step, way[1] * step);
      viewer.reveal(fraction(key));
      lens.show(key);
    } else if (event.key === "+" || event.key === "=") viewer.zoomBy(1.4);
    else if (event.key === "-") viewer.zoomBy(1 / 1.4);
    else if (event.key === "Delete" && key) points.dispatchEvent(new CustomEvent("unwanted", { detail: key }));
    else return;
    event.preventDefault();
  }
  stage.addEventListener("keydown", (event) => event.target === stage && keys(event, points.chosen));
  for (const [key, button] of points.buttons) {
    button.addEventListener("keydown", (event) => keys(event, key));
    button.addEventListener("click", () => { if (points.at(key)) lens.show(key); });
  }
  points.addEventListener("chosen", () => {
    if (points.chosen && points.at(points.chosen)) viewer.reveal(fraction(points.chosen));
  });
  form.querySelector("[data-reed]").addEventListener("click", () => frame(viewer, points));
  return { viewer, lens, handles };
}

// once figures are kept, whoever came from a draft is led back to it
export function backOnceKept() {
  document.addEventListener("htmx:afterSwap", () => {
    const back = document.querySelector("#kept-lengths [data-back]");
    if (back) location.assign(back.href);
  });
}

// a refusal and the findings are shown as well, not only what came out right
export function showRefusals() {
  document.addEventListener("htmx:beforeSwap", ({ detail }) => {
    if (detail.target.id === "kept-lengths" && detail.xhr.status === 422) Object.assign(detail, { shouldSwap: true, isError: false });
  });
}
