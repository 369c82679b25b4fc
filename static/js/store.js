// The marks of this answer: changed at once on the page, kept on the server one after the other, tried again until kept.
const LONGEST_PAUSE = 20000;

export class MarkStore extends EventTarget {
  constructor(marks, { put, drop, token, stale }) {
    super();
    this.marks = new Map(marks.map((mark) => [mark.key, mark]));
    this.addresses = { put, drop };
    Object.assign(this, { token, stale });
    this.done = [];
    this.undone = [];
    this.unkept = new Map();
    this.refused = new Map();
    this.pause = 500;
    window.addEventListener("online", () => this.keep());
    window.addEventListener("beforeunload", (event) => { if (this.unkept.size) event.preventDefault(); });
  }

  get all() { return [...this.marks.values()]; }

  on(photo) { return this.all.filter((mark) => mark.photo === photo); }

  spans(take) { return this.all.filter((mark) => mark.take === take); }

  put(mark) { this.step({ key: mark.key, before: this.marks.get(mark.key) ?? null, after: mark }); }

  drop(key) { if (this.marks.has(key)) this.step({ key, before: this.marks.get(key), after: null }); }

  step(change) {
    this.done.push(change);
    this.undone = [];
    this.set(change.key, change.after);
  }

  undo() {
    const change = this.done.pop();
    if (!change) return false;
    this.undone.push(change);
    this.set(change.key, change.before);
    return true;
  }

  redo() {
    const change = this.undone.pop();
    if (!change) return false;
    this.done.push(change);
    this.set(change.key, change.after);
    return true;
  }

  set(key, mark) {
    if (mark) this.marks.set(key, mark);
    else this.marks.delete(key);
    this.unkept.set(key, mark);
    this.dispatchEvent(new Event("changed"));
    this.keep();
  }

  say(state, words = "") {
    this.dispatchEvent(new CustomEvent("saving", { detail: { state, words } }));
  }

  async keep() {
    if (this.busy || !this.unkept.size) return;
    this.busy = true;
    this.say("saving");
    const [key, mark] = this.unkept.entries().next().value;
    const result = await this.send(key, mark);
    this.busy = false;
    if (result.later) return this.later(result.words);
    if (this.unkept.get(key) === mark) this.unkept.delete(key);
    this.pause = 500;
    if (result.refusal) this.refused.set(key, result.refusal);
    else this.refused.delete(key);
    if (this.unkept.size) return this.keep();
    return this.refused.size ? this.say("refused", [...this.refused.values()].at(-1)) : this.say("kept");
  }

  later() {
    this.say("later");
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.keep(), this.pause);
    this.pause = Math.min(LONGEST_PAUSE, this.pause * 2);
  }

  async send(key, mark) {
    const headers = { "X-CSRFToken": this.token, "Content-Type": "application/json" };
    try {
      const answer = await fetch(mark ? this.addresses.put : this.addresses.drop, { method: "POST", headers, body: JSON.stringify(mark ?? { key }) });
      if (answer.status === 422) return { refusal: (await answer.json()).refusal };
      if (answer.redirected || [403, 404].includes(answer.status)) return { refusal: this.stale };
      return { later: !answer.ok };
    } catch {
      return { later: true };
    }
  }

  // wait until everything is kept; false if it was refused, or could not be within the time
  async settled(milliseconds = 8000) {
    const end = Date.now() + milliseconds;
    while (this.unkept.size && Date.now() < end) {
      this.keep();
      await new Promise((go) => setTimeout(go, 100));
    }
    return !this.unkept.size && !this.refused.size;
  }
}
