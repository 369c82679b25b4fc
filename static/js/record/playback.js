// The picture of a take goes with its sound: a cursor moves along; a click or the arrow keys go somewhere else.
import { clock } from "../clock.js";

const STEP = 0.25;

export class Player {
  constructor(element) {
    this.picture = element.querySelector("[data-picture]");
    this.sound = element.querySelector("audio");
    this.cursor = element.querySelector("[data-cursor]");
    const { left, right, shown, seconds } = this.picture.dataset;
    Object.assign(this, { left: Number(left), right: Number(right), shown: Number(shown), seconds: Number(seconds) });
    this.at = 0;
    this.spanBox = { y: Number(this.cursor.getAttribute("y1")), height: this.cursor.getAttribute("y2") - this.cursor.getAttribute("y1") };
    this.picture.addEventListener("click", (event) => this.seek(this.timeAt(event)));
    this.picture.addEventListener("keydown", (event) => this.key(event));
    this.sound.addEventListener("timeupdate", () => this.heard());
    this.sound.addEventListener("play", () => this.run());
    this.sound.addEventListener("pause", () => { this.until = undefined; });
    this.sound.addEventListener("loadedmetadata", () => { if (this.wanted !== undefined) this.seek(this.wanted); });
  }

  timeAt(event) {
    const box = this.picture.getBoundingClientRect();
    const x = ((event.clientX - box.left) / box.width) * this.picture.viewBox.baseVal.width;
    return this.within(((x - this.left) / (this.right - this.left)) * this.shown);
  }

  within(seconds) { return Math.min(this.seconds, Math.max(0, seconds)); }

  xOf(seconds) { return this.left + (this.right - this.left) * Math.min(1, seconds / this.shown); }

  // before the sound is loaded the place is only kept in mind
  seek(seconds) {
    const to = this.within(seconds);
    if (this.sound.readyState > 0) {
      this.wanted = undefined;
      this.sound.currentTime = to;
    } else {
      this.wanted = to;
      if (this.sound.preload === "none") { this.sound.preload = "metadata"; this.sound.load(); }
    }
    this.show(to);
  }

  // only this part, then stop
  playPart(start, end) {
    this.seek(start);
    this.until = end;
    this.sound.play();
  }

  follow() { if (this.wanted === undefined) this.show(this.sound.currentTime); }

  // also where no picture is drawn, in a page behind another
  heard() {
    this.follow();
    if (this.until !== undefined && this.sound.currentTime >= this.until) this.sound.pause();
  }

  run() {
    this.heard();
    if (!this.sound.paused) requestAnimationFrame(() => this.run());
  }

  show(seconds) {
    this.at = seconds;
    const x = this.xOf(seconds);
    this.cursor.setAttribute("x1", x);
    this.cursor.setAttribute("x2", x);
    this.picture.setAttribute("aria-valuenow", seconds.toFixed(2));
    this.picture.setAttribute("aria-valuetext", clock(seconds));
    this.moved?.();
  }

  key(event) {
    const to = {
      ArrowRight: this.at + STEP, ArrowUp: this.at + STEP, ArrowLeft: this.at - STEP, ArrowDown: this.at - STEP,
      PageUp: this.at + 2, PageDown: this.at - 2, Home: 0, End: this.seconds,
    }[event.key];
    if (to !== undefined) this.seek(to);
    else if (event.key === " ") this.toggle();
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  toggle() {
    if (this.sound.paused) this.sound.play();
    else this.sound.pause();
  }
}

const players = new WeakMap();

export function playerOf(element) {
  if (!players.has(element)) players.set(element, new Player(element));
  return players.get(element);
}

function wake(root) {
  root.querySelectorAll("[data-player]").forEach(playerOf);
  root.querySelectorAll("[data-play-passage]").forEach((button) => { button.hidden = false; });
}

document.addEventListener("click", (event) => {
  const passage = event.target.closest?.("[data-play-passage]")?.closest("[data-start]");
  const take = passage?.closest("[data-passages]").dataset.passages;
  const player = take && document.querySelector(`[data-take="${take}"] [data-player]`);
  if (player) playerOf(player).playPart(Number(passage.dataset.start), Number(passage.dataset.end));
});

wake(document);
document.addEventListener("htmx:load", (event) => wake(event.target.parentElement ?? document));
