// One recorder: under an item of the playing test with count-in, or for a spoken note; level, stop, listening, keep or again.
import { countIn } from "./countin.js";
import { decibels, watchLevel } from "./level.js";
import { openMicrophone, processed, reason } from "./microphone.js";

const LONGEST = { played: 180, spoken: 120 };
const SILENT_PEAK = 0.003;
const LOUD_PEAK = 0.99;
const SILENT_AFTER = 3000;
const KINDS = ["audio/webm;codecs=opus", "audio/mp4", "audio/ogg;codecs=opus"];

const clock = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;

export class Recorder {
  constructor(place, { tempo, keep, closed, spoken = false }) {
    Object.assign(this, { tempo, keep, closed, spoken, longest: LONGEST[spoken ? "spoken" : "played"] });
    this.panel = document.getElementById("recorder").content.firstElementChild.cloneNode(true);
    this.part = (name) => this.panel.querySelector(`[data-${name}]`);
    this.panel.addEventListener("click", (event) => this.press(event.target.closest("[data-do]")?.dataset.do));
    place.replaceChildren(this.panel);
    this.begin();
  }

  press(what) {
    if (what === "stop") this.stop("listen");
    else if (what === "again") this.begin();
    else if (what === "close" || what === "drop") this.close();
    else if (what === "keep") this.kept();
  }

  kept() {
    this.keep(this.blob, this.granted);
    this.close();
  }

  say(name) {
    const line = this.part("said");
    if (line.dataset.now === name) return;
    line.dataset.now = name;
    line.textContent = line.dataset[name.replace(/-(.)/g, (_, letter) => letter.toUpperCase())] ?? "";
    line.classList.toggle("is-trouble", !["asking", "recording", "listen", "limit", ""].includes(name));
  }

  show(...names) {
    for (const name of ["count", "clock", "meter", "playback"]) this.part(name).hidden = !names.includes(name);
    for (const button of this.panel.querySelectorAll("[data-do]")) {
      button.hidden = !names.includes(button.dataset.do);
    }
  }

  async begin() {
    this.letGo();
    const turn = {};
    this.turn = turn;
    Object.assign(this, { peak: 0, quietSince: null, parts: [], blob: null });
    this.panel.dataset.state = "asking";
    this.show("close");
    this.say("asking");
    this.context = new AudioContext();
    try {
      const opened = await openMicrophone();
      if (this.turn !== turn) return opened.stream.getTracks().forEach((track) => track.stop());
      Object.assign(this, opened);
    } catch (error) {
      if (this.turn === turn) { this.say(reason(error)); this.show("again", "close"); }
      return undefined;
    }
    if (!this.spoken) this.tellProcessing();
    this.unwatch = watchLevel(this.stream, this.context, (peak) => this.level(peak));
    this.panel.dataset.state = "counting";
    this.say("");
    this.show("count", "meter", "close");
    if (!this.spoken) await countIn(this.context, this.tempo, (beat) => { this.part("count").textContent = beat || ""; }, () => this.turn !== turn);
    if (this.turn === turn) this.record();
    return undefined;
  }

  tellProcessing() {
    const why = processed(this.granted);
    const line = this.part("processed");
    line.hidden = !why;
    line.textContent = why ? line.dataset[why] : "";
  }

  record() {
    const mimeType = KINDS.find((kind) => MediaRecorder.isTypeSupported(kind));
    this.machine = new MediaRecorder(this.stream, { mimeType, audioBitsPerSecond: 128000 });
    const { machine, turn } = this;
    machine.addEventListener("dataavailable", (event) => { if (event.data.size) this.parts.push(event.data); });
    machine.addEventListener("stop", () => { if (this.turn === turn) this.finished(machine.mimeType); });
    this.stream.getAudioTracks()[0].addEventListener("ended", () => { if (this.turn === turn) this.stop("broke"); });
    machine.start(1000);
    this.panel.dataset.state = "recording";
    this.peak = 0;
    this.started = performance.now();
    this.say("recording");
    this.show("clock", "meter", "stop", "close");
    this.panel.querySelector("[data-do=stop]").focus();
    this.ticking = setInterval(() => this.tick(), 200);
    this.tick();
  }

  tick() {
    const seconds = (performance.now() - this.started) / 1000;
    this.part("clock").textContent = `${clock(seconds)} / ${clock(this.longest)}`;
    if (seconds >= this.longest) this.stop("limit");
  }

  level(peak) {
    this.peak = Math.max(this.peak, peak);
    this.part("meter").value = Math.max(0, 60 + decibels(peak));
    if (this.machine?.state !== "recording") return;
    if (peak >= LOUD_PEAK) this.say("loud");
    if (peak >= SILENT_PEAK) this.quietSince = null;
    else this.quietSince ??= performance.now();
    if (this.quietSince && performance.now() - this.quietSince > SILENT_AFTER && this.peak < SILENT_PEAK) this.say("silent");
    else if (this.part("said").dataset.now === "silent") this.say("recording");
  }

  stop(then) {
    this.then = then;
    clearInterval(this.ticking);
    if (this.machine?.state === "recording") this.machine.stop();
  }

  finished(type) {
    this.blob = new Blob(this.parts, { type: type.split(";")[0] });
    this.closeMicrophone();
    const playback = this.part("playback");
    if (this.address) URL.revokeObjectURL(this.address);
    this.address = URL.createObjectURL(this.blob);
    playback.src = this.address;
    this.panel.dataset.state = "listen";
    this.show("playback", "keep", "drop", "again");
    const silent = this.peak < SILENT_PEAK;
    this.say(silent ? "was-silent" : this.then === "listen" && this.peak >= LOUD_PEAK ? "was-loud" : this.then);
    this.panel.querySelector(silent ? "[data-do=again]" : "[data-do=keep]").focus();
  }

  closeMicrophone() {
    clearInterval(this.ticking);
    this.unwatch?.();
    this.unwatch = null;
    this.stream?.getTracks().forEach((track) => track.stop());
    this.stream = null;
    this.context?.close();
    this.context = null;
  }

  letGo() {
    this.turn = null;
    if (this.machine?.state === "recording") this.machine.stop();
    this.machine = null;
    this.closeMicrophone();
  }

  close() {
    this.letGo();
    if (this.address) URL.revokeObjectURL(this.address);
    this.panel.remove();
    this.closed();
  }
}
