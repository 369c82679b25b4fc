// Another photo laid beside the one that is looked at: at the same true scale, moved and zoomed with it, where both
// have one.
import { FlatViewer } from "./flat.js";
import { gestures } from "./gestures.js";
import { withLengths } from "./length.js";
import { draw } from "./shapes.js";
import { sayScale } from "./true_scale.js";

// each moves with the other; without a bench there is nothing to move with
function together(viewers, areTrue) {
  let busy = false;
  for (const [one, other] of [viewers, [...viewers].reverse()]) {
    one.addEventListener("placed", () => {
      if (busy || !areTrue()) return;
      busy = true;
      other.lookAt(one.centre, one.scale);
      busy = false;
    });
  }
}

export function layBeside(frame, said, bench) {
  const [review, stages, pane] = [document.querySelector(".review"), frame.closest(".stages"), frame.querySelector(".stage")];
  const fold = document.querySelector("[data-beside-fold]");
  const thumbs = () => [...fold.querySelectorAll("[data-beside-photo]")];
  const isShown = (thumb) => thumb.getAttribute("aria-pressed") === "true";
  const viewer = new FlatViewer(pane);
  const none = () => {};
  gestures(viewer, { draws: () => false, begin: none, move: none, end: none, cancel: none, hover: none, choose: none });

  let shown = [];
  let isComing = false; // what comes takes its scale from what is there, not the other way
  const areTrue = () => !frame.hidden && !isComing && Boolean(viewer.lie?.isFlat && bench.viewer.lie?.isFlat);
  viewer.addEventListener("placed", () => draw(viewer, shown));
  sayScale(viewer, frame.querySelector("[data-scale]"), said);
  together([bench.viewer, viewer], areTrue);
  bench.viewer.addEventListener("placed", () => lie());

  // flat reeds lie over one another, so that each has the whole width
  function lie() {
    const areFlat = areTrue();
    stages.classList.toggle("is-flat", areFlat);
    review.classList.toggle("is-beside", !frame.hidden && !areFlat);
  }

  function marksOn({ besidePhoto, width, height, plane }) {
    const marks = JSON.parse(document.getElementById("beside-data").textContent);
    const here = marks.filter((mark) => mark.photo === Number(besidePhoto));
    return withLengths(here, { width, height, plane }, said).map((mark, index) => ({ ...mark, number: index + 1 }));
  }

  function show(thumb) {
    frame.hidden = !thumb;
    for (const one of thumbs()) one.setAttribute("aria-pressed", String(one === thumb));
    if (thumb) {
      shown = marksOn(thumb.dataset);
      frame.querySelector("[data-beside-name]").textContent = thumb.dataset.name;
      isComing = true;
      viewer.show(thumb.dataset);
      isComing = false;
    }
    lie();
    if (areTrue()) viewer.lookAt(bench.viewer.centre, bench.viewer.scale);
  }

  fold.addEventListener("click", ({ target }) => {
    const thumb = target.closest("[data-beside-photo]");
    if (thumb) show(isShown(thumb) ? null : thumb);
  });
  frame.querySelector("[data-beside-close]").addEventListener("click", () => show(null));
  pane.addEventListener("keydown", (event) => {
    if (event.key === "Escape") show(null);
    else if (event.target === pane && viewer.keys(event)) event.preventDefault();
  });

  // each time the next of them, then none; the first press fetches them
  let isAwaited = false;
  const next = () => show(thumbs()[thumbs().findIndex(isShown) + 1] ?? null);
  fold.addEventListener("htmx:load", () => {
    if (isAwaited) next();
    isAwaited = false;
  });
  return () => {
    isAwaited = !fold.querySelector("[data-beside-came]");
    if (isAwaited) fold.open = true;
    else next();
  };
}
