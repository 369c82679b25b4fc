// Asks the server about the points as they stand, a moment after the last change; an answer overtaken is dropped.
const WAIT = 250;

export class Asking {
  constructor(form, address, points, { take, refuse }) {
    Object.assign(this, { form, address, points, take, refuse, timer: 0, running: null });
  }

  soon() {
    this.form.elements.points.value = JSON.stringify(this.points);
    this.form.toggleAttribute("data-asking", true);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.now(), WAIT);
  }

  async now() {
    this.running?.abort();
    const running = (this.running = new AbortController());
    try {
      const answer = await fetch(this.address, { method: "POST", body: new FormData(this.form), signal: running.signal, headers: { Accept: "application/json" } });
      const told = await answer.json();
      if (told.refusal) this.refuse(told.refusal);
      else this.take(told);
    } catch (trouble) {
      if (trouble.name === "AbortError") return;
      this.refuse(this.form.dataset.lost);
    }
    if (running === this.running) this.form.toggleAttribute("data-asking", false);
  }
}

// sentences beside the form: remarks, or why there is no figure
export function say(place, sentences, isRefusal) {
  place.replaceChildren(...sentences.map((sentence) => {
    const line = document.createElement("p");
    line.className = isRefusal ? "message message-error" : "message";
    line.textContent = sentence;
    return line;
  }));
}
