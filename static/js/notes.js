// The list of notes beside the photo: number, words, millimetres; one line for each mark.
export class Notes extends EventTarget {
  constructor(list, { kinds }) {
    super();
    this.list = list;
    this.kinds = kinds;
    this.template = document.getElementById("note");
    this.rows = new Map();
    list.addEventListener("click", (event) => this.click(event));
    list.addEventListener("change", (event) => this.tell("words", event.target));
    list.addEventListener("input", (event) => grow(event.target));
    list.addEventListener("focusin", (event) => this.tell("show", event.target));
    list.addEventListener("keydown", (event) => this.key(event));
  }

  tell(name, target) {
    const row = target.closest(".note");
    if (row) this.dispatchEvent(new CustomEvent(name, { detail: { key: row.dataset.key, words: row.querySelector("textarea").value } }));
  }

  click(event) {
    if (event.target.closest("[data-note-drop]")) this.tell("drop", event.target);
    else if (event.target.closest("[data-note-show]")) this.tell("show", event.target);
  }

  // Enter or Escape in a note's words is done with it; Shift+Enter makes a new line
  key(event) {
    const done = (event.key === "Enter" && !event.shiftKey) || event.key === "Escape";
    if (!done || !event.target.matches("textarea")) return;
    event.preventDefault();
    event.stopPropagation();
    this.tell("words", event.target);
    this.dispatchEvent(new Event("leave"));
  }

  // rows stay where they are so that a text under way keeps its focus
  render(marks, chosen) {
    const keys = new Set(marks.map((mark) => mark.key));
    for (const [key, row] of this.rows) if (!keys.has(key)) { row.remove(); this.rows.delete(key); }
    marks.forEach((mark, index) => {
      const row = this.rows.get(mark.key) ?? this.make(mark);
      if (this.list.children[index] !== row) this.list.insertBefore(row, this.list.children[index] ?? null);
      this.fill(row, mark, mark.key === chosen);
    });
  }

  make(mark) {
    const row = this.template.content.firstElementChild.cloneNode(true);
    row.dataset.key = mark.key;
    this.rows.set(mark.key, row);
    return row;
  }

  fill(row, mark, chosen) {
    const text = row.querySelector("textarea");
    row.classList.toggle("is-chosen", chosen);
    const badge = row.querySelector("[data-note-show]");
    badge.textContent = mark.number;
    badge.setAttribute("aria-label", `${mark.number}, ${this.kinds[mark.kind]}`);
    row.querySelector("[data-note-length]").textContent = mark.length || "";
    if (document.activeElement !== text) text.value = mark.words || "";
    grow(text);
  }

  focus(key) {
    this.rows.get(key)?.querySelector("textarea").focus();
  }
}

export function grow(text) {
  if (!text.matches?.("textarea")) return;
  text.style.height = "auto";
  text.style.height = `${text.scrollHeight + 2}px`;
}
