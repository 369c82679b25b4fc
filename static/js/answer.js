// The answer: kept on the server while it grows, its next step picked from the usual ones, sent with all marks kept.
const PAUSE = 700;

export class AnswerForm {
  constructor(form, store, said, voice) {
    Object.assign(this, { form, store, said, voice });
    this.kept = form.querySelector("[data-kept]");
    this.refusal = form.querySelector("[data-refusal]");
    form.addEventListener("input", () => this.soon());
    form.addEventListener("submit", (event) => { event.preventDefault(); this.send(); });
    form.addEventListener("keydown", (event) => {
      if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) form.requestSubmit();
    });
    document.addEventListener("click", ({ target }) => this.goesAlong(target.closest("[data-goes-along]")?.dataset.goesAlong));
    form.addEventListener("click", ({ target }) => this.take(target.closest("[data-step]")));
    this.numberSign();
    // typed before this script had come, or put back by the browser
    if ([...form.querySelectorAll("textarea")].some((text) => text.value !== text.defaultValue)) this.soon();
    window.addEventListener("pagehide", () => { if (this.timer) this.keep(true); });
    window.addEventListener("online", () => { if (this.failed) this.keep(); });
  }

  // what stands for each reed's number goes in where one last wrote
  numberSign() {
    const button = this.form.querySelector("[data-number-sign]");
    if (!button) return;
    let field = this.form.elements.words;
    this.form.addEventListener("focusin", ({ target }) => { if (target.matches("textarea")) field = target; });
    button.hidden = false;
    button.addEventListener("click", () => {
      field.focus();
      field.setRangeText(button.dataset.numberSign, field.selectionStart, field.selectionEnd, "end");
      field.dispatchEvent(new Event("input", { bubbles: true }));
    });
  }

  // a demonstration picked beside what it is about
  goesAlong(pk) {
    if (!pk) return;
    this.form.elements.demonstration.value = pk;
    this.form.dispatchEvent(new Event("input", { bubbles: true }));
    this.form.elements.demonstration.scrollIntoView({ block: "nearest" });
  }

  take(step) {
    if (!step) return;
    this.form.elements.next_step.value = step.textContent.trim();
    this.form.elements.caution.value = step.dataset.caution;
    this.form.dispatchEvent(new Event("input", { bubbles: true }));
    this.form.elements.next_step.focus();
  }

  soon() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.keep(), PAUSE);
  }

  // one after the other, so that this page is never taken for another window; on leaving there is no time for that
  async keep(leaving = false) {
    clearTimeout(this.timer);
    this.timer = null;
    if (this.keeping && !leaving) return this.soon();
    const body = new FormData(this.form);
    if (this.keeping) body.delete("since");
    this.keeping = this.keepNow(body, leaving);
    await this.keeping;
    this.keeping = null;
  }

  async keepNow(body, keepalive) {
    try {
      const answer = await fetch(this.form.dataset.keep, { method: "POST", body, keepalive });
      this.failed = !(answer.ok || answer.status === 422) || answer.redirected;
      if (this.failed) return this.again();
      const { kept, refusal, since } = await answer.json();
      this.refuse(refusal);
      if (since) this.form.elements.since.value = since;
      this.kept.textContent = kept ? `${this.said.kept} ${kept}` : "";
    } catch {
      this.again();
    }
  }

  again() {
    this.failed = true;
    this.kept.textContent = this.said.later;
    this.timer ??= setTimeout(() => this.keep(), 4000);
  }

  refuse(sentence) {
    this.refusal.textContent = sentence ?? "";
    this.refusal.hidden = !sentence;
  }

  // on the way to the next reed nothing is lost: marks first, then the words; a refusal leaves the page as it is
  async send() {
    if (this.sending) return;
    this.sending = true;
    clearTimeout(this.timer);
    this.timer = null;
    this.refuse("");
    try {
      if (!(await this.store.settled())) return this.refuse([this.said.marks_unkept, ...new Set(this.store.refused.values())].join(" "));
      const unspoken = await this.voice?.settled();
      if (unspoken) return this.refuse(unspoken);
      await this.keeping; // so that `since` is this page's own
      const answer = await fetch(this.form.action, { method: "POST", body: new FormData(this.form) });
      if (answer.ok) return window.location.assign(answer.url);
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const why = [...page.querySelectorAll("[role=alert], .errorlist")].map((one) => one.textContent.trim()).find(Boolean);
      this.refuse(why || this.said.unsent);
      const since = page.querySelector("[name=since]")?.value;
      if (since) this.form.elements.since.value = since; // told once; sent again, these words count
      this.refusal.scrollIntoView({ block: "nearest" });
    } catch {
      this.refuse(this.said.unsent);
    } finally {
      this.sending = false;
    }
  }
}
