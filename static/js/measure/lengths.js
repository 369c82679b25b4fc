// The lengths beside the photo: live from the server's matrices while a point moves, with their doubt once it stands.
import { distanceMm } from "../projection.js";
import { Asking, say } from "./ask.js";

export class Lengths {
  constructor(form, data, points) {
    Object.assign(this, { form, data, points, matrices: null });
    this.asking = new Asking(form, data.figures, points, { take: (told) => this.take(told), refuse: (why) => this.refuse(why) });
    this.said = form.querySelector("#said");
    points.addEventListener("moved", ({ detail }) => {
      this.live();
      if (detail.done) this.ask();
    });
    points.addEventListener("chosen", () => this.sayNow());
    if (data.answer) this.take(data.answer);
  }

  // a quantity is a sum of distances less what is known beforehand; null while a point is missing
  value({ of, less }) {
    if (!this.matrices || !of.length) return null;
    let sum = -less;
    for (const [a, b] of of) {
      const [start, stop] = [this.points.at(a), this.points.at(b)];
      if (!start || !stop) return null;
      sum += distanceMm(this.matrices[a], start, stop, this.matrices[b]);
    }
    return Number.isFinite(sum) ? sum : null;
  }

  // pixels of the photo a millimetre takes at a point, or null
  perMm(key) {
    const [at, matrix] = [this.points.at(key), this.matrices?.[key]];
    if (!at || !matrix) return null;
    const [along, down] = [[1, 0], [0, 1]].map(([dx, dy]) => distanceMm(matrix, at, [at[0] + dx, at[1] + dy]));
    return 1 / Math.sqrt(along * down);
  }

  live() {
    for (const row of this.data.rows) {
      const value = this.value(row);
      const place = this.place(row.key);
      this.write(place, value);
      place.classList.add("length-moving");
      if (value === null) this.doubt(row.key, null);
    }
    this.sayNow();
  }

  // on a phone the list is far below: what the chosen point changes is said right under the photo
  sayNow() {
    const chosen = this.points.chosen;
    const about = this.data.rows.filter(({ of }) => of.flat().includes(chosen)).slice(0, 3);
    const text = (selector, place) => place.querySelector(selector).textContent.trim();
    this.form.querySelector("[data-now]").textContent = about
      .map(({ key }) => `${text(".choice", this.place(key).closest("li"))} ${text("strong", this.place(key))}`)
      .join("  ·  ");
  }

  place(key) {
    return this.form.querySelector(`[data-length="${key}"]`);
  }

  write(place, value) {
    const decimals = Number(place.dataset.decimals);
    const shown = { minimumFractionDigits: decimals, maximumFractionDigits: decimals };
    const said = value === null ? "–" : `${value.toLocaleString(document.documentElement.lang, shown)} mm`;
    place.querySelector("strong").textContent = said;
  }

  doubt(key, figure) {
    const [place, tick] = [this.place(key), this.form.querySelector(`[data-keep="${key}"]`)];
    place.querySelector(".doubt").textContent = figure ? `± ${figure.doubt}` : "";
    const unlikely = place.closest("li").querySelector("[data-unlikely]");
    unlikely.textContent = figure?.unlikely ?? "";
    unlikely.hidden = !figure?.unlikely;
    const may = Boolean(figure) && !figure.unlikely;
    if (may !== !tick.disabled) Object.assign(tick, { disabled: !may, checked: may });
  }

  take({ matrices, lengths, warnings }) {
    this.matrices = matrices;
    for (const row of this.data.rows) {
      const figure = lengths[row.key] ?? null;
      const place = this.place(row.key);
      if (figure) place.dataset.decimals = figure.decimals;
      this.write(place, figure ? figure.value : null);
      place.classList.remove("length-moving");
      this.doubt(row.key, figure);
    }
    say(this.said, warnings, false);
    this.sayNow();
    this.points.dispatchEvent(new Event("scaled"));
  }

  refuse(sentence) {
    for (const row of this.data.rows) {
      this.doubt(row.key, null);
      this.place(row.key).classList.remove("length-moving");
    }
    say(this.said, [sentence], true);
  }

  ask() {
    this.asking.soon();
  }
}
