// Passages of a take with words: dragged over the picture, set by Enter, or typed in seconds; kept by the store of marks.
import { uuid } from "../send/uuid.js";
import { playerOf } from "./playback.js";

const SVG = "http://www.w3.org/2000/svg";
const SHORTEST = 0.05;
const DRAGGED = 6;
const shown = (seconds) => String(Math.round(seconds * 100) / 100);
const clock = (seconds) => `${Math.floor(seconds / 60)}:${(seconds % 60).toFixed(1).padStart(4, "0")}`;

export class Passages {
  constructor(section, store, said) {
    Object.assign(this, { section, store, said, take: Number(section.dataset.passages), key: null, begun: null });
    this.form = section.querySelector("[data-span-form]");
    this.fold = this.form.closest("details");
    this.list = section.querySelector("[data-passage-list]");
    this.blank = section.querySelector("[data-passage-blank]");
    this.saving = section.querySelector("[data-span-saving]");
    section.querySelectorAll("[data-scripted]").forEach((element) => { element.hidden = false; });
    this.wireForm();
    this.wirePicture();
    store.addEventListener("changed", () => this.render());
    store.addEventListener("saving", ({ detail: { state, words } }) => this.say(words || said[`marks_${state}`], ["refused", "later"].includes(state)));
    document.addEventListener("htmx:load", () => this.arrived());
    this.arrived();
  }

  get player() {
    const element = document.querySelector(`[data-take="${this.take}"] [data-player]`);
    return element ? playerOf(element) : null;
  }

  // the picture may come only when the server has listened
  arrived() {
    this.fold.hidden = !this.player;
    if (this.player) this.player.moved = () => { if (this.begun !== null) this.render(); };
    this.render();
  }

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
      if (end > start) this.player?.playPart(start, end);
      else this.say(this.said.span_seconds, true);
    });
    this.list.addEventListener("click", (event) => { if (event.target.closest("[data-change]")) this.choose(this.keyOf(event.target)); });
    this.list.addEventListener("submit", (event) => { event.preventDefault(); this.drop(this.keyOf(event.target)); });
  }

  keyOf(target) { return target.closest("[data-key]").dataset.key; }

  typed() { return ["start", "end"].map((name) => Number(this.field(name).value.trim().replace(",", ".") || NaN)); }

  changed(field) {
    if (field.name === "phrase") this.usual(field);
    if (this.key) this.put(); // one that is kept already is kept as it changes
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

  // --- the picture ---
  wirePicture() {
    const here = (event) => event.target.closest?.(`[data-take="${this.take}"] [data-picture]`);
    document.addEventListener("pointerdown", (event) => { if (here(event) && event.button === 0) this.press(event); });
    document.addEventListener("pointermove", (event) => this.move(event));
    document.addEventListener("pointerup", (event) => this.release(event));
    document.addEventListener("pointercancel", () => { this.drag = null; this.render(); });
    document.addEventListener("click", (event) => { if (this.dragged && here(event)) event.stopPropagation(); }, true);
    document.addEventListener("keydown", (event) => { if (here(event)) this.pressed(event); });
  }

  press(event) {
    this.dragged = false;
    this.drag = { x: event.clientX, pointer: event.pointerId, from: this.player.timeAt(event), span: null };
  }

  move(event) {
    if (event.pointerId !== this.drag?.pointer) return;
    if (!this.drag.span && Math.abs(event.clientX - this.drag.x) < DRAGGED) return;
    const to = this.player.timeAt(event);
    this.drag.span = { start: Math.min(this.drag.from, to), end: Math.max(this.drag.from, to) };
    this.dragged = true;
    this.render();
  }

  release(event) {
    if (event.pointerId !== this.drag?.pointer) return;
    const { span } = this.drag;
    this.drag = null;
    if (span) this.made(span, event.pointerType);
  }

  pressed(event) {
    if (event.key === "Escape" && this.begun !== null) this.begun = null;
    else if (event.key === "Enter") this.set(this.player.at);
    else return;
    event.preventDefault();
    event.stopPropagation();
    this.render();
  }

  set(at) {
    if (this.begun === null) {
      this.begun = at;
      this.say(this.said.span_begun);
      return;
    }
    const [start, end] = [Math.min(this.begun, at), Math.max(this.begun, at)];
    this.begun = null;
    this.made({ start, end }, "keyboard");
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
  render() {
    const fixed = [...this.list.querySelectorAll("li:not([data-key])")];
    const own = this.store.spans(this.take);
    this.list.querySelectorAll("li[data-key]").forEach((row) => row.remove());
    own.forEach((mark, index) => this.list.append(this.row(mark, fixed.length + index + 1)));
    if (this.player) this.draw([...fixed.map((row) => ({ start: Number(row.dataset.start), end: Number(row.dataset.end) })), ...own]);
  }

  row(mark, number) {
    const row = this.blank.content.firstElementChild.cloneNode(true);
    Object.assign(row.dataset, { key: mark.key, start: mark.start, end: mark.end });
    row.classList.toggle("is-chosen", mark.key === this.key);
    row.querySelectorAll("[data-number]").forEach((one) => { one.textContent = number; });
    row.querySelector("[data-when]").textContent = `${clock(mark.start)} – ${clock(mark.end)}`;
    row.querySelector("[data-words]").textContent = mark.words;
    row.querySelector("[name=key]").value = mark.key;
    row.querySelectorAll("[data-scripted]").forEach((element) => { element.hidden = false; });
    return row;
  }

  draw(passages) {
    const group = this.player.picture.querySelector("[data-spans]");
    group.replaceChildren(...passages.flatMap((one, index) => this.shapes(one, index + 1)));
    const open = this.drag?.span ?? (this.begun === null ? null : { start: this.begun, end: this.player.at });
    if (open) group.append(...this.shapes({ ...open, key: "open" }, ""));
  }

  shapes({ start, end, key }, number) {
    const { player } = this;
    const { y, height } = player.spanBox;
    const left = player.xOf(Math.min(start, end));
    const width = Math.max(1, player.xOf(Math.max(start, end)) - left);
    const rect = make("rect", { class: key && (key === this.key || key === "open") ? "span is-chosen" : "span", x: left, width, y, height });
    const text = make("text", { class: "span-number", x: left, dx: 3, y: y + height, dy: -4 });
    text.textContent = number;
    return [rect, text];
  }
}

function make(name, attributes) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  return element;
}
