// The photo under the teacher's eyes: which one is shown, the marks on it, the tool in hand, the list of notes.
import { Drawing } from "./drawing.js";
import { FlatViewer } from "./flat.js";
import { withLengths } from "./length.js";
import { draw } from "./shapes.js";
import { sayScale } from "./true_scale.js";

const planeOf = ({ dataset: { plane } }) => (plane ? JSON.parse(plane) : null);

// on the reed, as well as it is known: the measured photo, else one on its card, else the first
function opensOn(thumbs) {
  return thumbs.find((thumb) => planeOf(thumb)?.clicked) ?? thumbs.find(planeOf) ?? thumbs[0];
}

export class Bench {
  constructor(stage, { store, notes, askKnown, say, said }) {
    Object.assign(this, { store, notes, askKnown, say, said });
    this.thumbs = [...document.querySelectorAll("[data-photo]")];
    this.viewer = new FlatViewer(stage);
    sayScale(this.viewer, stage.parentElement.querySelector("[data-scale]"), said);
    this.drawing = new Drawing(this.viewer, () => this.here());
    this.chosen = "";
    this.wire();
    this.show(opensOn(this.thumbs));
    this.pick("move");
  }

  wire() {
    this.viewer.addEventListener("placed", () => this.paint());
    this.drawing.addEventListener("drawing", () => this.paint());
    this.drawing.addEventListener("hint", (event) => this.say(this.said[`hint_${event.detail}`]));
    this.drawing.addEventListener("chosen", (event) => this.choose(event.detail));
    this.drawing.addEventListener("drawn", (event) => this.drawn(event.detail));
    this.store.addEventListener("changed", () => this.refresh());
    this.notes.addEventListener("words", ({ detail }) => this.words(detail));
    this.notes.addEventListener("drop", ({ detail }) => this.store.drop(detail.key));
    this.notes.addEventListener("show", ({ detail }) => this.choose(detail.key));
    this.notes.addEventListener("leave", () => this.viewer.stage.focus({ preventScroll: true }));
    for (const thumb of this.thumbs) thumb.addEventListener("click", () => this.show(thumb));
  }

  get photo() { return Number(this.thumb.dataset.photo); }

  // every mark with its number and millimetres, photo by photo
  numbered() {
    const marks = this.thumbs.flatMap((thumb) => withLengths(this.store.on(Number(thumb.dataset.photo)), thumb.dataset, this.said));
    return marks.map((mark, index) => ({ ...mark, number: index + 1 }));
  }

  here() { return this.numbered().filter((mark) => mark.photo === this.photo); }

  show(thumb) {
    if (!thumb || thumb === this.thumb) return;
    this.thumb = thumb;
    for (const one of this.thumbs) one.setAttribute("aria-pressed", String(one === thumb));
    this.drawing.cancel();
    this.viewer.show({ ...thumb.dataset, alt: thumb.querySelector("img").alt });
    this.refresh();
    if (this.tool) this.sayTool();
  }

  turn(by) {
    const at = this.thumbs.indexOf(this.thumb);
    this.show(this.thumbs[(at + by + this.thumbs.length) % this.thumbs.length]);
  }

  paint() {
    if (!this.viewer.size) return;
    const { begun, cross } = this.drawing;
    draw(this.viewer, this.here(), { chosen: this.chosen, begun, cross });
  }

  refresh() {
    this.notes.render(this.numbered(), this.chosen);
    this.paint();
  }

  choose(key) {
    this.chosen = key;
    const mark = this.store.marks.get(key);
    if (mark) {
      this.show(this.thumbs.find((thumb) => Number(thumb.dataset.photo) === mark.photo));
      this.viewer.reveal(mark.points[0]);
    }
    this.refresh();
  }

  pick(tool) {
    this.drawing.choosingTool(tool);
    for (const button of document.querySelectorAll("[data-tool]")) button.setAttribute("aria-pressed", String(button.dataset.tool === tool));
    this.viewer.stage.dataset.drawing = tool;
    this.tool = tool;
    this.sayTool();
  }

  sayTool() {
    const own = this.tool === "line" && planeOf(this.thumb);
    const which = own ? (own.clicked ? "tool_line_measured" : "tool_line_found") : `tool_${this.tool}`;
    this.say(this.said[which]);
  }

  async drawn({ kind, points, by }) {
    const mark = { key: crypto.randomUUID(), photo: this.photo, kind, points, words: "", known_mm: null };
    if (kind === "scale") {
      mark.known_mm = await this.askKnown();
      if (mark.known_mm === null) return this.viewer.stage.focus();
    }
    this.chosen = mark.key;
    this.store.put(mark);
    if (kind === "scale") this.pick("line");
    else if (by !== "touch") this.notes.focus(mark.key);
    return mark;
  }

  words({ key, words }) {
    const mark = this.store.marks.get(key);
    if (mark && mark.words !== words.trim()) this.store.put({ ...mark, words: words.trim() });
  }

  dropChosen() { if (this.chosen) this.store.drop(this.chosen); }
}
