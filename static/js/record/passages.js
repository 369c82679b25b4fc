// Passages of a take with words: dragged over the picture, set by Enter, or typed in seconds; kept by the store of marks.
import { clock } from "../clock.js";
import { uuid } from "../send/uuid.js";
import { Hand } from "./hand.js";
import { playerOf } from "./playback.js";
import { shapesOf } from "./span_shapes.js";

const SHORTEST = 0.05;
const shown = (seconds) => String(Math.round(seconds * 100) / 100);

export class Passages {
  constructor(section, store, said) {
    Object.assign(this, { section, store, said, take: Number(section.dataset.passages), key: null });
    this.form = section.querySelector("[data-span-form]");
    this.fold = this.form.closest("details");
    this.list = section.querySelector("[data-passage-list]");
    this.blank = section.querySelector("[data-passage-blank]");
    this.saving = section.querySelector("[data-span-saving]");
    section.querySelectorAll("[data-scripted]").forEach((element) => { element.hidden = false; });
    this.wireForm();
    this.hand = new Hand(this.take, () => this.player, {
      drawn: () => this.render(),
      begun: () => this.say(said.span_begun),
      made: (span, by) => this.made(span, by),
    });
    store.addEventListener("changed", () => this.render());
    store.addEventListener("saving", ({ detail: { state, words } }) => this.say(words || said[`marks_${state}`], ["refused", "later"].includes(state)));
    this.player.moved = () => { if (this.hand.open) this.render(); };
    this.render();
  }

  get player() { return playerOf(document.querySelector(`[data-take="${this.take}"] [data-player]`)); }

  say(words, trouble = false) {
    this.saving.textContent = words ?? "";
    this.saving.classList.toggle("is-trouble", trouble);
  }

  field(name) { return this.form.elements.namedItem(name); }

  // --- the form ---
  wireForm() {
    this.form.addEventListener("submit", (event) => { event.preventDefault(); this.keep(); });
    this.form.addEventListener("change", (event) => this.changed(event.target));
    this.form.querySelector("[data-span-undo]").addEventListener("click", () => { this.leave(); this.store.undo(); });
    this.form.querySelector("[data-span-play]").addEventListener("click", () => {
      const [start, end] = this.typed();
      if (end > start) this.player.playPart(start, end);
      else this.say(this.said.span_seconds, true);
    });
    this.list.addEventListener("click", (event) => { if (event.target.closest("[data-change]")) this.choose(this.keyOf(event.target)); });
    this.list.addEventListener("submit", (event) => { event.preventDefault(); this.drop(this.keyOf(event.target)); });
  }

  keyOf(target) { return target.closest("[data-key]").dataset.key; }

  typed() { return ["start", "end"].map((name) => Number(this.field(name).value.trim().replace(",", ".") || NaN)); }

  changed(field) {
    if (field.name === "phrase") this.usual(field);
    if (this.key || this.isWhole()) this.put(); // before it is said to be done, so that no word is lost
  }

  isWhole() {
    const [start, end] = this.typed();
    return end - start >= SHORTEST && this.field("words").value.trim() !== "";
  }

  usual(select) {
    const [option] = select.selectedOptions;
    if (!option?.value) return;
    const words = this.field("words");
    words.value = [words.value.trim(), option.textContent].filter(Boolean).join(" ");
    select.value = "";
    const headers = { "X-CSRFToken": this.store.token };
    fetch(option.dataset.used, { method: "POST", headers }).catch(() => {});
  }

  put() {
    const [start, end] = this.typed();
    if (!Number.isFinite(start) || !Number.isFinite(end)) return this.say(this.said.span_seconds, true);
    if (end - start < SHORTEST) return this.say(this.said.span_short, true);
    this.key ??= uuid();
    const mark = { key: this.key, take: this.take, kind: "span", start, end, words: this.field("words").value.trim() };
    const before = this.store.marks.get(this.key);
    if (!before || ["start", "end", "words"].some((name) => before[name] !== mark[name])) this.store.put(mark);
    return true;
  }

  keep() {
    if (this.field("phrase")?.value) this.usual(this.field("phrase"));
    if (this.put()) this.leave();
  }

  leave() {
    this.key = null;
    for (const name of ["start", "end", "words"]) this.field(name).value = "";
    this.render();
  }

  drop(key) {
    if (key === this.key) this.leave();
    this.store.drop(key);
    this.fold.open = true;
    this.field("start").focus();
  }

  choose(key) {
    const mark = this.store.marks.get(key);
    this.fill(mark);
    this.key = key;
    this.field("words").value = mark.words;
    this.field("words").focus();
    this.render();
  }

  fill({ start, end }) {
    this.fold.open = true;
    this.field("start").value = shown(start);
    this.field("end").value = shown(end);
  }

  // kept at once, as a mark on a photo is, so that leaving the page loses no passage
  made(span, by) {
    this.key = null;
    this.field("words").value = "";
    this.fill(span);
    if (this.put() && by !== "touch") this.field("words").focus({ preventScroll: true });
    this.render();
  }

  // --- what is shown ---
  // rows stay where they are, so that a click that also ends a text under way still finds its button
  render() {
    const fixed = [...this.list.querySelectorAll("li:not([data-key])")];
    const own = this.store.spans(this.take);
    const keys = new Set(own.map((mark) => mark.key));
    this.list.querySelectorAll("li[data-key]").forEach((row) => { if (!keys.has(row.dataset.key)) row.remove(); });
    own.forEach((mark, index) => {
      const row = this.rowOf(mark.key);
      const place = this.list.children[fixed.length + index];
      if (place !== row) this.list.insertBefore(row, place ?? null);
      this.fillRow(row, mark, fixed.length + index + 1);
    });
    this.draw([...fixed.map((row) => ({ start: Number(row.dataset.start), end: Number(row.dataset.end) })), ...own]);
  }

  rowOf(key) {
    return this.list.querySelector(`li[data-key="${key}"]`) ?? this.blank.content.firstElementChild.cloneNode(true);
  }

  fillRow(row, mark, number) {
    Object.assign(row.dataset, { key: mark.key, start: mark.start, end: mark.end });
    row.classList.toggle("is-chosen", mark.key === this.key);
    row.querySelectorAll("[data-number]").forEach((one) => { one.textContent = number; });
    row.querySelector("[data-when]").textContent = `${clock(mark.start)} – ${clock(mark.end)}`;
    row.querySelector("[data-words]").textContent = mark.words;
    row.querySelector("[name=key]").value = mark.key;
    row.querySelectorAll("[data-scripted]").forEach((element) => { element.hidden = false; });
  }

  draw(passages) {
    const chosen = (one) => Boolean(one.key) && one.key === this.key;
    const shapes = passages.flatMap((one, index) => shapesOf(this.player, one, index + 1, chosen(one)));
    if (this.hand.open) shapes.push(...shapesOf(this.player, this.hand.open, "", true));
    this.player.picture.querySelector("[data-spans]").replaceChildren(...shapes);
  }
}
