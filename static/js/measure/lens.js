// The lens: what lies under the finger, larger, in the corner where the finger is not.
const LASTS = 1500;
const token = (name) => getComputedStyle(document.documentElement).getPropertyValue(name);

export class Lens {
  constructor(canvas, viewer, points) {
    Object.assign(this, { canvas, viewer, points, sharp: null, wanted: [] });
    this.context = canvas.getContext("2d");
    this.timer = 0;
  }

  // sharper and sharper copies, fetched one after the other from when something is first looked at
  from(addresses) { this.wanted = addresses.filter(Boolean); }

  sharpen() {
    if (!this.wanted.length || this.isFetching) return;
    this.isFetching = true;
    const image = new Image();
    image.addEventListener("load", () => {
      this.sharp = image;
      this.isFetching = false;
      if (!this.canvas.hidden && this.key) this.draw(this.key);
      this.sharpen();
    });
    image.addEventListener("error", () => { this.isFetching = false; }); // as it is, until it is looked at again
    image.src = this.wanted.shift();
  }

  show(key, stays = false) {
    if (!this.points.at(key)) return this.hide();
    this.key = key;
    this.sharpen();
    if (!this.draw(key)) return undefined;
    clearTimeout(this.timer);
    if (!stays) this.timer = setTimeout(() => this.hide(), LASTS);
    return undefined;
  }

  draw(key) {
    const [at, image] = [this.points.at(key), this.sharp ?? this.viewer.image];
    if (!at || !image.naturalWidth) return false;
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
    return true;
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
