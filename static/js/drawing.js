// From gestures and keys to marks: what is begun, when it is whole, and the cross that stands in for a pointer.
import { gestures } from "./gestures.js";
import { distance } from "./shapes.js";

const MOST_POINTS = 400;
const TWO = new Set(["line", "arrow", "scale"]);
const MANY = new Set(["outline", "freehand"]);

export class Drawing extends EventTarget {
  constructor(viewer, marksHere) {
    super();
    this.viewer = viewer;
    this.marksHere = marksHere;
    this.tool = "move";
    this.begun = null;
    this.cross = null;
    gestures(viewer, this);
    viewer.stage.addEventListener("keydown", (event) => { if (this.key(event)) { event.preventDefault(); event.stopPropagation(); } });
    viewer.stage.addEventListener("blur", () => this.setCross(null));
  }

  choosingTool(tool) {
    this.tool = tool;
    this.cancel();
  }

  draws() { return this.tool !== "move"; }

  changed() { this.dispatchEvent(new Event("drawing")); }

  setCross(place) { this.cross = place; this.changed(); }

  // --- pointer ---
  begin(point) {
    this.cross = null;
    const waiting = this.begun && TWO.has(this.tool);
    if (waiting) this.begun.points = [this.begun.points[0], point];
    else this.begun = { kind: this.tool, points: [point] };
    this.second = waiting;
    this.changed();
  }

  move(point) {
    if (!this.begun) return;
    if (this.tool === "point") this.begun.points = [point];
    else if (TWO.has(this.tool)) this.begun.points = [this.begun.points[0], point];
    else if (this.far(this.begun.points.at(-1), point) >= 3) this.begun.points.push(point);
    this.changed();
  }

  end(point, tapped, by) {
    if (!this.begun) return;
    this.move(point);
    if (TWO.has(this.tool) && tapped && !this.second) {
      this.begun.points = [point]; // the first of two clicks
      this.changed();
    } else if (MANY.has(this.tool) && this.begun.points.length < 3) {
      this.cancel("drag");
    } else this.finish(by);
  }

  hover(point) {
    if (this.begun && TWO.has(this.tool) && this.begun.points.length) {
      this.begun.points = [this.begun.points[0], point];
      this.changed();
    }
  }

  cancel(why = "") {
    this.begun = null;
    this.second = false;
    this.changed();
    if (why) this.dispatchEvent(new CustomEvent("hint", { detail: why }));
  }

  choose(point) {
    const [near] = this.marksHere().map((mark) => [distance(mark, point, this.viewer), mark]).sort((a, b) => a[0] - b[0]);
    this.dispatchEvent(new CustomEvent("chosen", { detail: near && near[0] < 18 ? near[1].key : "" }));
  }

  far(start, stop) {
    const [[x1, y1], [x2, y2]] = [this.viewer.onLeaf(start), this.viewer.onLeaf(stop)];
    return Math.hypot(x2 - x1, y2 - y1);
  }

  finish(by) {
    const { kind, points } = this.begun;
    this.begun = null;
    this.second = false;
    const every = Math.ceil(points.length / MOST_POINTS);
    const kept = points.filter((_, index) => index % every === 0);
    if (kind !== "point" && this.far(kept[0], kept.at(-1)) < 2 && kept.length < 3) return this.cancel("small");
    const rounded = kept.map((point) => point.map((number) => Number(number.toFixed(5))));
    this.dispatchEvent(new CustomEvent("drawn", { detail: { kind, points: rounded, by } }));
    return this.changed();
  }

  // --- keyboard ---
  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target !== this.viewer.stage) return false;
    if (event.key === "Escape" && this.begun) { this.cancel(); return true; }
    if (!this.draws()) return this.viewer.keys(event);
    if (event.key === "Enter") { this.set(); return true; }
    const step = event.shiftKey ? 2 : 14;
    const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    if (!moves[event.key]) return false;
    this.moveCross(...moves[event.key]);
    return true;
  }

  moveCross(dx, dy) {
    const [x, y] = this.viewer.onLeaf(this.cross ?? this.middle());
    const place = this.viewer.fromLeaf([x + dx, y + dy]);
    if (this.begun && TWO.has(this.tool)) this.begun.points = [this.begun.points[0], place];
    this.setCross(place);
    this.viewer.reveal(place);
  }

  middle() {
    const box = this.viewer.stage.getBoundingClientRect();
    return this.viewer.fraction(box.left + box.width / 2, box.top + box.height / 2);
  }

  set() {
    const place = this.cross ?? this.middle();
    this.cross = place;
    if (!this.begun) this.begun = { kind: this.tool, points: [place] };
    else if (TWO.has(this.tool)) this.begun.points = [this.begun.points[0], place];
    else if (this.far(this.begun.points.at(-1), place) < 1) return this.endMany();
    else this.begun.points.push(place);
    if (this.tool === "point" || (TWO.has(this.tool) && this.begun.points.length === 2)) return this.finish("keyboard");
    return this.changed();
  }

  endMany() {
    const least = this.tool === "outline" ? 3 : 2;
    if (this.begun.points.length >= least) this.finish("keyboard");
    else this.dispatchEvent(new CustomEvent("hint", { detail: "more" }));
  }
}
