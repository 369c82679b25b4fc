// The rings on the photo: drawn over it at the same size at every zoom, and found under a finger.
const SVG = "http://www.w3.org/2000/svg";
// the numbers stand clear of one another: along the reed and across it, CSS pixels
const LABELS = { tip: [34, 0], tip_right: [0, 32] };
const REACH = { mouse: 16, pen: 20, touch: 34 };

function make(tag, attributes, parent) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  parent?.append(element);
  return element;
}

function ring(key, label, svg) {
  const group = make("g", { class: "ring", "data-ring": key }, svg);
  make("circle", { class: "ring-size", r: 0 }, group);
  const small = !label;
  for (const kind of ["ring-back", "ring-line"]) {
    if (small) {
      make("circle", { class: kind, r: 7 }, group);
      continue;
    }
    make("circle", { class: kind, r: 11 }, group);
    make("path", { class: kind, d: "M0 -22V-4M0 22V4M-22 0H-12M22 0H12" }, group);
  }
  make("circle", { class: "ring-middle", r: 1.2 }, group);
  const [x, y] = LABELS[key] ?? [0, -30];
  const text = make("text", { class: "ring-number", "text-anchor": "middle" }, make("g", { transform: `translate(${x} ${y})` }, group));
  text.textContent = label;
  return group;
}

export class Handles {
  constructor(viewer, points) {
    // how many pixels of the photo a millimetre takes at a point, and how large the reed is there, mm: null if not known
    Object.assign(this, { viewer, points, rings: new Map(), perMm: () => null, sizes: {} });
    for (const [key, button] of points.buttons) {
      this.rings.set(key, ring(key, button.querySelector(".point-number").textContent, viewer.svg));
    }
    viewer.addEventListener("placed", () => this.draw());
    for (const name of ["moved", "chosen"]) points.addEventListener(name, () => this.draw());
  }

  onLeaf([x, y]) {
    const { width, height } = this.viewer.leafSize;
    return [(x / this.points.size[0]) * width, (y / this.points.size[1]) * height];
  }

  // the reed's direction on the screen, so that a ring's long stroke lies across it
  get turn() {
    const [foot, tip] = [this.points.at("staple_foot"), this.points.at("tip")];
    return foot && tip ? (Math.atan2(tip[1] - foot[1], tip[0] - foot[0]) * 180) / Math.PI : 0;
  }

  draw() {
    const { turn } = this;
    for (const [key, group] of this.rings) {
      const point = this.points.all.get(key);
      const seen = point.shown && point.at;
      group.toggleAttribute("hidden", !seen);
      group.classList.toggle("ring-chosen", key === this.points.chosen);
      if (!seen) continue;
      const [x, y] = this.onLeaf(point.at);
      group.setAttribute("transform", `translate(${x.toFixed(2)} ${y.toFixed(2)}) rotate(${turn.toFixed(1)})`);
      group.querySelector(".ring-size").setAttribute("r", key === this.points.chosen ? this.radius(key).toFixed(2) : 0);
      group.querySelector("text").setAttribute("transform", `rotate(${(-turn).toFixed(1)}) translate(0 5)`);
    }
    const chosen = this.rings.get(this.points.chosen);
    if (chosen && chosen !== this.viewer.svg.lastElementChild) this.viewer.svg.append(chosen);
  }

  // of the circle as large as the reed is at a point, CSS pixels; 0 where that is not known
  radius(key) {
    const perMm = this.perMm(key);
    if (!perMm || !this.sizes[key]) return 0;
    return ((this.sizes[key] / 2) * perMm * this.viewer.leafSize.width) / this.points.size[0];
  }

  // the chosen one wins where rings lie over one another, else the nearest
  near(clientX, clientY, pointerType) {
    const box = this.viewer.leaf.getBoundingClientRect();
    const reach = REACH[pointerType] ?? REACH.touch;
    const far = (point) => {
      const [x, y] = this.onLeaf(point.at);
      return Math.hypot(x + box.left - clientX, y + box.top - clientY);
    };
    const close = this.points.shown.map((point) => ({ key: point.key, far: far(point) })).filter((one) => one.far <= reach);
    const chosen = close.find((one) => one.key === this.points.chosen);
    return (chosen ?? close.sort((a, b) => a.far - b.far)[0])?.key ?? null;
  }
}
