// A photo one can zoom and move: wheel, two fingers, buttons, keys. Sizes are in CSS pixels, places in fractions.
const MOST = 12;
// the longest side of the smaller copies, in pixels: reeds/photo/vision/jobs.py
const SIDES = { screen: 1600, large: 2800 };
const SHARP = 1.06; // so much enlarged a copy still looks sharp
const DENSEST = 2; // more pixels to one of the page than so many are not told apart

export class Viewer extends EventTarget {
  constructor(stage) {
    super();
    this.stage = stage;
    this.leaf = stage.querySelector(".leaf");
    this.image = this.leaf.querySelector("img");
    this.svg = this.leaf.querySelector("svg");
    this.zoom = 1;
    this.left = this.top = 0;
    stage.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    const zoom = stage.querySelector(".zoom") ?? stage.parentElement.querySelector(".zoom");
    zoom.addEventListener("click", (event) => this.button(event.target.closest("[data-zoom]")));
    new ResizeObserver(() => this.resized()).observe(stage);
  }

  // what it is shown by: the copy for a screen at once, a larger one, where there is one, and the whole when zoomed in
  show({ screen, large, full, width, height, alt }) {
    this.size = { width: Number(width) || 1000, height: Number(height) || 1000 };
    const longest = Math.max(this.size.width, this.size.height);
    const wide = (side) => (side * this.size.width) / longest;
    this.copies = [[screen, wide(SIDES.screen)], [large, wide(SIDES.large)], [full, Infinity]].filter(([address]) => address);
    this.sharpest = 0;
    this.image.src = screen;
    this.image.alt = alt || "";
    this.fit();
  }

  get fitted() {
    const { clientWidth, clientHeight } = this.stage;
    const factor = Math.min(clientWidth / this.size.width, clientHeight / this.size.height);
    return { width: this.size.width * factor, height: this.size.height * factor };
  }

  get leafSize() {
    return { width: this.fitted.width * this.zoom, height: this.fitted.height * this.zoom };
  }

  home() { this.fit(); }

  fit() {
    this.zoom = 1;
    this.left = this.top = 0;
    this.place();
  }

  resized() { this.place(); }

  // keep the photo in sight: centred where it is smaller than the stage, else without a gap at an edge
  place() {
    if (!this.size) return;
    const { width, height } = this.leafSize;
    const [wide, high] = [this.stage.clientWidth, this.stage.clientHeight];
    const within = (at, size, room) => (size <= room ? (room - size) / 2 : Math.min(0, Math.max(room - size, at)));
    this.left = within(this.left, width, wide);
    this.top = within(this.top, height, high);
    Object.assign(this.leaf.style, { width: `${width}px`, height: `${height}px`, transform: `translate(${this.left}px, ${this.top}px)` });
    this.sharpen(width * Math.min(window.devicePixelRatio, DENSEST));
    this.dispatchEvent(new Event("placed"));
  }

  // the smallest copy that is sharp at this width takes the place of the one shown, once it has come
  sharpen(width) {
    const place = this.copies.findIndex(([, wide]) => wide * SHARP >= width);
    if (place <= this.sharpest) return;
    this.sharpest = place;
    const [copies, sharper] = [this.copies, new Image()];
    sharper.addEventListener("load", () => { if (this.copies === copies && this.sharpest === place) this.image.src = sharper.src; });
    sharper.src = copies[place][0];
  }

  // a place of the photo, in fractions, to CSS pixels of the leaf and back
  onLeaf([x, y]) { return [x * this.leafSize.width, y * this.leafSize.height]; }

  fromLeaf([x, y]) {
    const within = (number) => Math.min(1, Math.max(0, number));
    return [within(x / this.leafSize.width), within(y / this.leafSize.height)];
  }

  fraction(clientX, clientY) {
    const box = this.leaf.getBoundingClientRect();
    return this.fromLeaf([clientX - box.left, clientY - box.top]);
  }

  zoomBy(factor, clientX, clientY) {
    const box = this.stage.getBoundingClientRect();
    const [x, y] = clientX === undefined ? [box.width / 2, box.height / 2] : [clientX - box.left, clientY - box.top];
    const zoom = Math.min(MOST, Math.max(1, this.zoom * factor));
    const ratio = zoom / this.zoom;
    this.left = x - (x - this.left) * ratio;
    this.top = y - (y - this.top) * ratio;
    this.zoom = zoom;
    this.place();
  }

  pan(dx, dy) {
    this.left += dx;
    this.top += dy;
    this.place();
  }

  // bring a place of the photo into sight
  reveal(point) {
    const [x, y] = this.onLeaf(point);
    const [wide, high] = [this.stage.clientWidth, this.stage.clientHeight];
    if (x + this.left < 0 || x + this.left > wide) this.left = wide / 2 - x;
    if (y + this.top < 0 || y + this.top > high) this.top = high / 2 - y;
    this.place();
  }

  wheel(event) {
    event.preventDefault();
    const lines = event.deltaMode === 1 ? 16 : 1;
    this.zoomBy(Math.exp((-event.deltaY * lines) / 400), event.clientX, event.clientY);
  }

  button(button) {
    if (!button) return;
    ({ in: () => this.zoomBy(1.4), out: () => this.zoomBy(1 / 1.4), fit: () => this.fit(), home: () => this.home() })[button.dataset.zoom]();
  }

  keys(event) {
    const step = event.shiftKey ? 10 : 60;
    const moves = { ArrowLeft: [step, 0], ArrowRight: [-step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] };
    if (!moves[event.key]) return false;
    this.pan(...moves[event.key]);
    return true;
  }
}
