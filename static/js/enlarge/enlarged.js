// One photo over the whole page: zoomed by wheel, two fingers, double tap, buttons and keys; turned over by a swipe.
import { gestures } from "../gestures.js";
import { Viewer } from "../viewer.js";
import { Marks } from "./marks.js";

const TWICE_MS = 400; // between the taps of a double tap
const CLOSER = 3;
const SWIPE = 50; // CSS pixels

export class Enlarged {
  constructor(dialog) {
    this.dialog = dialog;
    this.part = (name) => dialog.querySelector(`[data-enlarged-${name}]`);
    this.viewer = new Viewer(this.part("stage"));
    this.marks = new Marks(this.viewer, this.part("marks"), this.part("words"));
    const none = () => {};
    const hand = { draws: () => false, begin: none, move: none, end: none, cancel: none, hover: none };
    gestures(this.viewer, { ...hand, choose: (point) => this.tapped(point) });
    this.swipes(this.viewer.stage);
    this.part("before").addEventListener("click", () => this.turn(-1));
    this.part("after").addEventListener("click", () => this.turn(1));
    this.part("close").addEventListener("click", () => dialog.close());
    dialog.addEventListener("keydown", (event) => this.keys(event));
    dialog.addEventListener("close", () => this.links[this.at].focus());
  }

  // the one that was looked at last has the focus afterwards: it is where one is on the page
  open(links, link) {
    this.links = links;
    this.dialog.showModal();
    this.show(links.indexOf(link));
    this.viewer.stage.focus({ preventScroll: true });
  }

  show(at) {
    const link = this.links[at];
    const image = link.querySelector("img");
    this.at = at;
    this.lastTap = null;
    this.viewer.show({ ...link.dataset, screen: link.href, full: link.dataset.full ?? link.href, alt: image.alt });
    this.marks.show(link);
    const several = this.links.length > 1;
    this.part("name").textContent = several ? `${image.alt} · ${at + 1} / ${this.links.length}` : image.alt;
    for (const [name, step] of [["before", -1], ["after", 1]]) {
      this.part(name).hidden = !several;
      this.part(name).disabled = !this.links[at + step];
    }
  }

  turn(step) {
    if (!this.links[this.at + step]) return;
    this.show(this.at + step);
    if (document.activeElement?.disabled || document.activeElement === document.body) this.viewer.stage.focus();
  }

  tapped(point) {
    const now = performance.now();
    const isSecond = this.lastTap !== null && now - this.lastTap < TWICE_MS;
    this.lastTap = isSecond ? null : now;
    if (!isSecond) return;
    if (this.viewer.zoom > 1) return void this.viewer.fit();
    const box = this.viewer.leaf.getBoundingClientRect();
    this.viewer.zoomBy(CLOSER, box.left + point[0] * box.width, box.top + point[1] * box.height);
  }

  // one finger, on a photo that is seen whole: a zoomed one is moved by it instead
  swipes(stage) {
    const down = new Map();
    let from = null;
    stage.addEventListener("pointerdown", ({ pointerId, clientX, clientY }) => {
      down.set(pointerId, true);
      from = down.size === 1 && this.viewer.zoom === 1 ? [clientX, clientY] : null;
    });
    stage.addEventListener("pointercancel", ({ pointerId }) => { down.delete(pointerId); from = null; });
    stage.addEventListener("pointerup", ({ pointerId, clientX, clientY }) => {
      down.delete(pointerId);
      if (!from) return;
      const [across, along] = [clientX - from[0], clientY - from[1]];
      from = null;
      if (Math.abs(across) > SWIPE && Math.abs(across) > Math.abs(along)) this.turn(across < 0 ? 1 : -1);
    });
  }

  keys(event) {
    const turns = { ArrowLeft: -1, ArrowRight: 1 };
    const acts = {
      "+": () => this.viewer.zoomBy(1.4), "=": () => this.viewer.zoomBy(1.4), "-": () => this.viewer.zoomBy(1 / 1.4),
      0: () => this.viewer.fit(), m: () => this.marks.toggle(),
    };
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (this.viewer.zoom === 1 && turns[event.key]) this.turn(turns[event.key]);
    else if (acts[event.key]) acts[event.key]();
    else if (!this.viewer.keys(event)) return;
    event.preventDefault();
  }
}
