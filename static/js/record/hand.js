// The hand on the picture of a take: a passage dragged by mouse, finger or pen, or begun and ended by Enter.
const DRAGGED = 6;
const inOrder = (one, other) => ({ start: Math.min(one, other), end: Math.max(one, other) });

export class Hand {
  constructor(take, player, { drawn, begun, made }) {
    Object.assign(this, { player, drawn, told: begun, made, drag: null, dragged: false, begun: null });
    const here = (event) => event.target.closest?.(`[data-take="${take}"] [data-picture]`);
    document.addEventListener("pointerdown", (event) => { if (here(event) && event.button === 0) this.press(event); });
    document.addEventListener("pointermove", (event) => this.move(event));
    document.addEventListener("pointerup", (event) => this.release(event));
    document.addEventListener("pointercancel", () => { this.drag = null; this.drawn(); });
    // the click that ends a drag goes nowhere else
    document.addEventListener("click", (event) => { if (this.dragged && here(event)) event.stopPropagation(); }, true);
    document.addEventListener("keydown", (event) => { if (here(event)) this.key(event); });
  }

  // what is not whole yet
  get open() {
    return this.drag?.span ?? (this.begun === null ? null : inOrder(this.begun, this.player().at));
  }

  press(event) {
    this.dragged = false;
    this.drag = { x: event.clientX, pointer: event.pointerId, from: this.player().timeAt(event), span: null };
  }

  move(event) {
    if (event.pointerId !== this.drag?.pointer) return;
    if (!this.drag.span && Math.abs(event.clientX - this.drag.x) < DRAGGED) return;
    this.drag.span = inOrder(this.drag.from, this.player().timeAt(event));
    this.dragged = true;
    this.drawn();
  }

  release(event) {
    if (event.pointerId !== this.drag?.pointer) return;
    const { span } = this.drag;
    this.drag = null;
    if (span) this.made(span, event.pointerType);
  }

  key(event) {
    if (event.key === "Escape" && this.begun !== null) this.begun = null;
    else if (event.key === "Enter") this.set(this.player().at);
    else return;
    event.preventDefault();
    event.stopPropagation();
    this.drawn();
  }

  set(at) {
    if (this.begun === null) {
      this.begun = at;
      this.told();
      return;
    }
    const span = inOrder(this.begun, at);
    this.begun = null;
    this.made(span, "keyboard");
  }
}
