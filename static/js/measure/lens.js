// The lens: what lies under the finger, larger, in the corner where the finger is not.
const LASTS = 1500;
const token = (name) => getComputedStyle(document.documentElement).getPropertyValue(name);

export class Lens {
  constructor(canvas, viewer, points) {
    Object.assign(this, { canvas, viewer, points, full: null });
    this.context = canvas.getContext("2d");
    this.timer = 0;
  }

  // the whole picture is large: it is fetched once the page stands
  load(address) {
    const image = new Image();
    image.addEventListener("load", () => { this.full = image; });
    image.src = address;
  }

  show(key, stays = false) {
    const at = this.points.at(key);
    if (!at) return this.hide();
    const image = this.full ?? this.viewer.image;
    if (!image.naturalWidth) return undefined;
    const side = this.canvas.width;
    const perPixel = Math.max(2.5 * this.viewer.leafSize.width / this.points.size[0] * window.devicePixelRatio, 2);
    const share = image.naturalWidth / this.points.size[0];
    const seen = (side / perPixel) * share;
    this.context.fillStyle = token("--stage");
    this.context.fillRect(0, 0, side, side);
    this.context.imageSmoothingEnabled = perPixel < 6;
    this.context.drawImage(image, at[0] * share - seen / 2, at[1] * share - seen / 2, seen, seen, 0, 0, side, side);
    this.cross(side);
    this.stand(at);
    clearTimeout(this.timer);
    if (!stays) this.timer = setTimeout(() => this.hide(), LASTS);
    return undefined;
  }

  cross(side) {
    const [middle, gap] = [side / 2, side / 22];
    for (const [colour, width] of [[token("--point-halo"), 5], [token("--point"), 2]]) {
      this.context.strokeStyle = colour;
      this.context.lineWidth = width;
      this.context.beginPath();
      for (const [x, y] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        this.context.moveTo(middle + x * gap, middle + y * gap);
        this.context.lineTo(middle + x * middle, middle + y * middle);
      }
      this.context.stroke();
    }
  }

  stand(at) {
    const x = (at[0] / this.points.size[0]) * this.viewer.leafSize.width + this.viewer.left;
    this.canvas.hidden = false;
    this.canvas.classList.toggle("lens-right", x < this.viewer.stage.clientWidth / 2);
  }

  hide() {
    clearTimeout(this.timer);
    this.canvas.hidden = true;
  }
}
