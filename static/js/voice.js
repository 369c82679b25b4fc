// A spoken note of the answer: recorded in the page, kept in the draft on the server; sending waits for it.
import { Recorder } from "./record/recorder.js";
import { uuid } from "./send/uuid.js";

const AGAIN = 4000;

export class VoiceNote {
  constructor(section, token) {
    Object.assign(this, { section, token, recorder: null, pending: null, sending: null });
    this.here = section.querySelector("[data-voice-here]");
    this.line = section.querySelector("[data-voice-said]");
    section.addEventListener("click", ({ target }) => { if (target.closest("[data-voice-record]")) this.record(); });
    section.addEventListener("submit", (event) => {
      if (!event.target.matches("[data-voice-drop]")) return;
      event.preventDefault();
      this.push(event.target.action, new FormData(event.target));
    });
    section.addEventListener("change", ({ target }) => {
      const file = target.matches("[data-voice-file]") && target.files[0];
      if (file) this.keep(file, file.name);
      if (file) target.value = "";
    });
    window.addEventListener("online", () => { if (this.pending) this.settle(); });
    this.ready();
  }

  ready() {
    for (const part of this.here.querySelectorAll("[data-scripted]")) part.hidden = false;
  }

  say(words, trouble = false) {
    this.line.textContent = words ?? "";
    this.line.classList.toggle("is-trouble", trouble);
  }

  record() {
    this.recorder?.close();
    this.recorder = new Recorder(this.section.querySelector("[data-recorder-here]"), {
      spoken: true,
      keep: (blob) => this.keep(blob, `note.${blob.type.split("/")[1]}`),
      closed: () => { this.recorder = null; this.here.querySelector("[data-voice-record]")?.focus(); },
    });
  }

  keep(blob, name) {
    this.pending = { blob, name, key: uuid() };
    this.settle();
  }

  // "" when nothing is left to keep, else why the answer cannot go yet
  async settled() {
    if (this.recorder) return this.line.dataset.open;
    await this.settle();
    return this.pending ? this.line.dataset.unkept : "";
  }

  // one try at a time; the note's key makes a second one harmless
  async settle() {
    while (this.sending) await this.sending;
    const note = this.pending;
    if (!note) return;
    const body = new FormData();
    body.append("voice", note.blob, note.name);
    body.append("key", note.key);
    this.say(this.line.dataset.sending);
    this.sending = this.push(this.section.dataset.put, body).finally(() => { this.sending = null; });
    const done = await this.sending;
    if (done && this.pending === note) this.pending = null;
    if (done) return;
    this.say(this.line.dataset.later, true);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.settle(), AGAIN);
  }

  // true where the server has answered for good
  async push(address, body) {
    try {
      const headers = { "X-CSRFToken": this.token, "HX-Request": "true" };
      const answer = await fetch(address, { method: "POST", body, headers });
      if (answer.redirected || !(answer.ok || answer.status === 422)) return false;
      const page = new DOMParser().parseFromString(await answer.text(), "text/html").body;
      if (answer.ok) this.show(page);
      this.say(answer.ok ? "" : page.textContent.trim(), !answer.ok);
      return true;
    } catch {
      return false;
    }
  }

  show(page) {
    this.here.replaceChildren(...page.childNodes);
    htmx.process(this.here);
    this.ready();
  }
}
