// Files on their way, photos or recordings: kept in this browser until the server has them, sent one at a time.
import { say } from "./kept.js";
import { onItsWay } from "./on_its_way.js";
import * as outbox from "./outbox.js";
import { retry } from "./retry.js";
import { post } from "./upload.js";
import { uuid } from "./uuid.js";

const MOST_BYTES = 25 * 1024 * 1024;
const FINAL = [200, 404, 409, 410, 422];
const always = () => false;

// `kind` names the field, its key and the blank on the page; `place` gives the list a file is shown in, null for none
export function filesOnTheirWay(form, { kind, draft, address, place, isFull = always, fields = () => ({}), arrived = () => {} }) {
  const queue = [];
  const emptied = [];
  let busy = false;
  const again = retry(() => next());

  function show(file) {
    const shown = onItsWay(kind, file);
    place(file)?.append(shown.item);
    shown.item.querySelector("[data-drop]").addEventListener("click", () => drop(file, shown));
    return shown;
  }

  function refusal(blob) {
    if (!blob.size) return "empty";
    if (blob.size > MOST_BYTES) return "large";
    return isFull() ? "most" : "";
  }

  async function add(blob, name, more = {}) {
    const file = { key: uuid(), draft, name, blob, added: Date.now(), ...more };
    const why = refusal(blob);
    const shown = show(file);
    if (why) { shown.refusedFor(why); return; }
    queue.push({ file, shown });
    say(kind, "saving");
    if (!(await outbox.put(file))) shown.say("unkept");
    next();
  }

  function drop(file, shown) {
    const at = queue.findIndex((entry) => entry.file.key === file.key);
    if (at >= 0) queue.splice(at, 1);
    outbox.remove(file.key);
    shown.item.remove();
    settle();
  }

  function settle() {
    say(kind, queue.length ? "saving" : "server");
    if (!queue.length) emptied.splice(0).forEach((resolve) => resolve());
  }

  function body(file) {
    const data = new FormData();
    data.append("key", form.elements.namedItem("key").value);
    data.append(`${kind}-key`, file.key);
    for (const [name, value] of Object.entries(fields(file))) data.append(name, value);
    data.append(kind, file.blob, file.name);
    return data;
  }

  async function next() {
    if (busy || !queue.length) return;
    busy = true;
    const entry = queue[0];
    const { status, text } = await post(form, address, body(entry.file), entry.shown.progress);
    busy = false;
    if (queue[0] !== entry) next(); // removed while it was on its way
    else if (FINAL.includes(status)) done(entry, status, text);
    else later(entry, status);
  }

  function later(entry, status) {
    entry.shown.say(status ? "failed" : "phone");
    say(kind, status === 403 ? "signed-out" : "phone");
    again.later();
  }

  function done(entry, status, text) {
    queue.shift();
    again.worked();
    // of a round that was sent meanwhile it stays in this browser, for the next one
    if (status !== 409) outbox.remove(entry.file.key);
    if (status === 200) {
      entry.shown.replace(text);
      arrived();
    } else {
      entry.shown.refused(text.startsWith("<") ? document.getElementById("kept").dataset.gone : text, status !== 409);
    }
    settle();
    next();
  }

  async function takeUp() {
    const left = await outbox.waiting(draft);
    for (const file of left) {
      if (document.getElementById(`${kind}-${file.key}`) || !place(file)) outbox.remove(file.key);
      else queue.push({ file, shown: show(file) });
    }
    next();
    return left.length;
  }

  const empty = () => (queue.length ? new Promise((resolve) => { emptied.push(resolve); }) : Promise.resolve());
  return { add, takeUp, pending: () => queue.length, empty };
}
