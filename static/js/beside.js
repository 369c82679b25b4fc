// An earlier photo laid beside the one that is looked at.
import { gestures } from "./gestures.js";
import { withLengths } from "./length.js";
import { draw } from "./shapes.js";
import { Viewer } from "./viewer.js";

export function layBeside(pane, marks) {
  const review = document.querySelector(".review");
  const thumbs = [...document.querySelectorAll("[data-beside-photo]")];
  const viewer = new Viewer(pane);
  const none = () => {};
  gestures(viewer, { draws: () => false, begin: none, move: none, end: none, cancel: none, hover: none, choose: none });

  let shown = [];
  viewer.addEventListener("placed", () => draw(viewer.svg, viewer.leafSize, shown));

  function marksOn({ besidePhoto, width, height, plane }) {
    const here = marks.filter((mark) => mark.photo === Number(besidePhoto));
    return withLengths(here, { width, height, plane }).map((mark, index) => ({ ...mark, number: index + 1 }));
  }

  function show(thumb) {
    pane.hidden = !thumb;
    review.classList.toggle("is-beside", Boolean(thumb));
    for (const one of thumbs) one.setAttribute("aria-pressed", String(one === thumb));
    if (!thumb) return;
    shown = marksOn(thumb.dataset);
    pane.querySelector("[data-beside-name]").textContent = thumb.dataset.name;
    viewer.show({ ...thumb.dataset, alt: thumb.querySelector("img").alt });
  }

  for (const thumb of thumbs) {
    thumb.setAttribute("aria-pressed", "false");
    thumb.addEventListener("click", () => show(thumb.getAttribute("aria-pressed") === "true" ? null : thumb));
  }
  pane.querySelector("[data-beside-close]").addEventListener("click", () => show(null));
  pane.addEventListener("keydown", (event) => {
    if (event.key === "Escape") show(null);
    else if (event.target === pane && viewer.keys(event)) event.preventDefault();
  });

  // each time the next of the earlier photos, then none
  return () => {
    const at = thumbs.findIndex((thumb) => thumb.getAttribute("aria-pressed") === "true");
    show(thumbs[at + 1] ?? null);
  };
}
