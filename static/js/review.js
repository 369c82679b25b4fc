// Puts the review page together: bench, notes, answer, usual words, keys.
import { AnswerForm } from "./answer.js";
import { Bench } from "./bench.js";
import { layBeside } from "./beside.js";
import { keyHelp, onKeys } from "./keys.js";
import { askKnown } from "./known.js";
import { Notes } from "./notes.js";
import { Passages } from "./record/passages.js";
import { MarkStore } from "./store.js";
import { usualWords } from "./usual.js";
import { VoiceNote } from "./voice.js";

const read = (id) => JSON.parse(document.getElementById(id).textContent);
const review = document.querySelector("[data-review]");
const token = document.querySelector("[name=csrfmiddlewaretoken]").value;
const said = read("said-data");
const store = new MarkStore(read("marks-data"), { ...review.dataset, token, stale: said.marks_stale });

const saving = document.querySelector("[data-saving]");
store.addEventListener("saving", ({ detail: { state, words } }) => {
  saving.textContent = words || said[`marks_${state}`];
  saving.classList.toggle("is-trouble", state === "refused" || state === "later");
});

const hint = document.querySelector("[data-hint]");
const say = (words) => { if (hint) hint.textContent = words ?? ""; };

function makeBench() {
  const stage = document.querySelector("[data-stage]");
  if (!stage) return null;
  const notes = new Notes(document.querySelector("[data-notes]"), said);
  const ask = askKnown(document.querySelector("[data-known]"), () => say(said.hint_known));
  const made = new Bench(stage, { store, notes, askKnown: ask, say, said });
  document.querySelector("[data-tools]").addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (button?.dataset.tool) made.pick(button.dataset.tool);
    if (button?.dataset.do) store[button.dataset.do]();
  });
  return made;
}

const bench = makeBench();
const marking = (root) => { for (const section of root.querySelectorAll("[data-marking]")) new Passages(section, store, said); };
marking(document);
// a recording that was folded is drawn when it is opened; htmx loads the first page too
const drawnAtFirst = new Set(document.querySelectorAll("[data-take]"));
document.addEventListener("htmx:load", ({ target }) => {
  if (target.matches("[data-take]") && !drawnAtFirst.has(target)) marking(target);
});
const frame = document.querySelector("[data-beside]");
const nextBeside = frame ? layBeside(frame, said, bench) : () => false;
const form = document.querySelector("[data-answer]");
const spoken = document.querySelector("[data-voice]");
if (form) new AnswerForm(form, store, said, spoken && new VoiceNote(spoken, token));
const openWords = usualWords(token, said);

const onBench = (act) => () => (bench ? act() : false);
// a tool chosen by key has the stage's arrow keys at once
const tool = (name) => onBench(() => { bench.pick(name); bench.viewer.stage.focus({ preventScroll: true }); });
const zoom = (factor) => onBench(() => bench.viewer.zoomBy(factor));
const numbered = Object.fromEntries([1, 2, 3, 4, 5, 6, 7, 8].map((n) => [n, onBench(() => bench.show(bench.thumbs[n - 1]))]));
const drop = onBench(() => bench.dropChosen());

onKeys({
  m: tool("move"), p: tool("point"), l: tool("line"), a: tool("arrow"), o: tool("outline"), f: tool("freehand"), r: tool("scale"),
  u: () => store.undo(), "Shift+u": () => store.redo(), Delete: drop, Backspace: drop,
  "+": zoom(1.4), "=": zoom(1.4), "-": zoom(1 / 1.4), 0: onBench(() => bench.viewer.home()),
  "[": onBench(() => bench.turn(-1)), "]": onBench(() => bench.turn(1)), ...numbered,
  b: nextBeside, y: () => form?.elements.words.focus(), w: openWords,
  i: () => document.querySelector("[data-key-claim]")?.click(),
  e: () => document.querySelector(".bar nav a")?.click(),
  t: () => document.querySelector("[data-take-back]")?.click(),
  ...keyHelp(),
});
document.addEventListener("keydown", (event) => {
  if ((event.ctrlKey || event.metaKey) && event.key === "Enter" && form && !form.contains(event.target)) form.requestSubmit();
});
