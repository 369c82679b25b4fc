// The teacher's marks on an enlarged photo: all of them, none, or one alone with what is said of it.
const BADGE = 13; // CSS pixels, however near one looks

export class Marks {
  constructor(viewer, row, words) {
    Object.assign(this, { viewer, row, words });
    this.all = row.querySelector("[data-enlarged-all]");
    this.each = row.querySelector("[data-enlarged-each]");
    this.all.addEventListener("click", () => this.toggle());
    this.each.addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (button) this.pick(button.getAttribute("aria-pressed") === "true" ? "all" : Number(button.dataset.one));
    });
    viewer.addEventListener("placed", () => this.place());
  }

  // link: around a photo and, where there are marks on it, their drawing; what is said of them stands below it
  show(link) {
    const drawn = link.querySelector("svg.marks");
    const said = link.closest("figure")?.querySelectorAll("[data-mark]") ?? [];
    const { svg } = this.viewer;
    svg.setAttribute("viewBox", drawn?.getAttribute("viewBox") ?? "0 0 1 1");
    svg.replaceChildren(...[...(drawn?.children ?? [])].map((mark) => mark.cloneNode(true)));
    this.said = [...said].map((one) => one.lastElementChild.cloneNode(true));
    this.row.hidden = !svg.children.length;
    this.each.replaceChildren(...[...said].map((one, index) => this.button(one, index)));
    this.pick("all");
    this.place();
  }

  button(said, index) {
    const button = document.createElement("button");
    Object.assign(button, { type: "button", className: "plain slim", textContent: said.firstElementChild.textContent });
    button.dataset.one = index;
    button.setAttribute("aria-label", this.each.dataset.name.replace("%s", button.textContent));
    return button;
  }

  toggle() {
    if (!this.row.hidden) this.pick(this.which === "none" ? "all" : "none");
  }

  pick(which) {
    this.which = which;
    this.all.setAttribute("aria-pressed", String(which !== "none"));
    [...this.viewer.svg.children].forEach((mark, index) => mark.classList.toggle("is-away", which !== "all" && which !== index));
    for (const button of this.each.children) button.setAttribute("aria-pressed", String(which === Number(button.dataset.one)));
    this.words.replaceChildren(...(this.said[which] ? [this.said[which].cloneNode(true)] : []));
  }

  // marks lie in units of the picture; their numbers stay as large as a finger can read
  place() {
    const { svg, leafSize } = this.viewer;
    const unit = (svg.viewBox.baseVal.width || 1) / (leafSize.width || 1);
    for (const badge of svg.querySelectorAll(".badge")) badge.setAttribute("r", BADGE * unit);
    for (const number of svg.querySelectorAll(".badge-number")) number.style.fontSize = `${1.2 * BADGE * unit}px`;
  }
}
