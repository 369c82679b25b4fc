// A viewer that opens on the reed: its photo laid flat at true scale where that is known, the rest around it.
import { lieOf } from "./lie.js";
import { Viewer } from "./viewer.js";

const REED_HIGH_MM = 16; // twice a reed's width: so much of it is to be seen across
const LAID_OUT = 1600; // px of the picture before it is laid flat, as many as the screen copy has

// the picture's own px, laid out `by` times as large, to px of the leaf
function laidFlat([[a, b, c], [d, e, f], [g, h, i]], { left, top }, scale, by) {
  const row = (p, q, r, off) => [p - off * g, q - off * h, r - off * i].map((number) => (number * scale) / i);
  const [[a1, b1, c1], [d1, e1, f1]] = [row(a, b, c, left), row(d, e, f, top)];
  const [g1, h1] = [g / i, h / i];
  const columns = [[a1 / by, d1 / by, 0, g1 / by], [b1 / by, e1 / by, 0, h1 / by], [0, 0, 1, 0], [c1, f1, 0, 1]];
  return `matrix3d(${columns.flat().map((number) => number.toPrecision(10)).join(",")})`;
}

export class FlatViewer extends Viewer {
  show(photo) {
    this.lie = lieOf(photo);
    const { width, height } = this.lie.box;
    super.show({ ...photo, width, height });
    this.home();
  }

  // CSS pixels to a mm of the reed, or to a px of a photo that is not flat
  get scale() { return this.leafSize.width / this.size.width; }

  get centre() {
    const { left, top } = this.lie.box;
    return [left + (this.stage.clientWidth / 2 - this.left) / this.scale, top + (this.stage.clientHeight / 2 - this.top) / this.scale];
  }

  lookAt([u, v], scale) {
    const { left, top } = this.lie.box;
    this.zoom *= scale / this.scale;
    this.left = this.stage.clientWidth / 2 - (u - left) * scale;
    this.top = this.stage.clientHeight / 2 - (v - top) * scale;
    this.place();
  }

  // as it opens: the reed as large as it fits
  home() {
    const { left, top, width, height } = this.lie.home;
    const { clientWidth, clientHeight } = this.stage;
    if (!clientWidth || !clientHeight) return;
    const across = this.lie.isFlat ? Math.min(height, REED_HIGH_MM) : height;
    this.lookAt([left + width / 2, top + height / 2], Math.min(clientWidth / width, clientHeight / across));
    this.isHome = true;
  }

  fit() {
    super.fit();
    this.isHome = !this.lie.isFlat;
  }

  resized() {
    if (this.size && this.isHome) this.home();
    else this.place();
  }

  zoomBy(...given) {
    this.isHome = false;
    super.zoomBy(...given);
  }

  pan(...given) {
    this.isHome = false;
    super.pan(...given);
  }

  place() {
    if (this.size) this.layPicture();
    super.place();
  }

  layPicture() {
    const { lie, image } = this;
    image.classList.toggle("is-flat", lie.isFlat);
    const by = lie.isFlat ? LAID_OUT / Math.max(lie.photo.width, lie.photo.height) : 0;
    image.style.width = by ? `${lie.photo.width * by}px` : "";
    image.style.height = by ? `${lie.photo.height * by}px` : "";
    image.style.transform = by ? laidFlat(lie.matrix, lie.box, this.scale, by) : "";
  }

  onLeaf(point) {
    const [u, v] = this.lie.to(point);
    return [(u - this.lie.box.left) * this.scale, (v - this.lie.box.top) * this.scale];
  }

  fromLeaf([x, y]) {
    const place = this.lie.from([x / this.scale + this.lie.box.left, y / this.scale + this.lie.box.top]);
    return place.map((number) => Math.min(1, Math.max(0, number)));
  }
}
