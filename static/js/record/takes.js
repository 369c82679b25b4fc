// Recordings of the playing test: recorded or chosen, kept in this browser until the server has them, sent one at a time.
import { say } from "../send/kept.js";
import * as outbox from "../send/outbox.js";
import { retry } from "../send/retry.js";
import { post } from "../send/upload.js";
import { uuid } from "../send/uuid.js";
import { coming } from "./coming.js";
import { Recorder } from "./recorder.js";

const MOST_BYTES = 25 * 1024 * 1024;

export function takes(form) {
  const section = document.getElementById("takes");
  if (!section?.querySelector("[data-record]")) return null; // none without the guardian's consent
  const of = section.querySelector("[data-takes-of]");
  const draft = `${form.dataset.draft}/takes`;
  const queue = [];
  const emptied = [];
  let busy = false;
  let open = null;
  const again = retry(() => next());

  const placeOf = (item) => section.querySelector(`[data-item="${CSS.escape(item)}"]`);

  function show(take) {
    const shown = coming(take);
    placeOf(take.item)?.querySelector("[data-takes]").append(shown.item);
    shown.item.querySelector("[data-drop]").addEventListener("click", () => drop(take, shown));
    return shown;
  }

  async function take(item, blob, name, granted) {
    const made = { key: uuid(), draft, name, blob, item, granted, of: of?.value ?? "", added: Date.now() };
    const shown = show(made);
    const why = !blob.size ? "empty" : blob.size > MOST_BYTES ? "large" : "";
    if (why) return shown.refused(shown.item.querySelector(".photo-said").dataset[why]);
    queue.push({ take: made, shown });
    if (!(await outbox.put(made))) shown.say("unkept");
    return next();
  }

  function drop(made, shown) {
    const at = queue.findIndex((entry) => entry.take.key === made.key);
    if (at >= 0) queue.splice(at, 1);
    outbox.remove(made.key);
    shown.item.remove();
    settle();
  }

  function settle() {
    if (!queue.length) emptied.splice(0).forEach((resolve) => resolve());
  }

  function body(made) {
    const data = new FormData();
    data.append("key", form.elements.namedItem("key").value);
    data.append("take-key", made.key);
    data.append("item", made.item);
    data.append("of", made.of);
    data.append("granted", JSON.stringify(made.granted));
    data.append("take", made.blob, made.name);
    return data;
  }

  async function next() {
    if (busy || !queue.length) return;
    busy = true;
    const entry = queue[0];
    const { status, text } = await post(form, section.dataset.upload, body(entry.take), entry.shown.progress);
    busy = false;
    if (queue[0] !== entry) { next(); return; } // removed while it was on its way
    if ([200, 404, 409, 410, 422].includes(status)) { done(entry, status, text); return; }
    entry.shown.say(status ? "failed" : "phone");
    say(status === 403 ? "signed-out" : "phone");
    again.later();
  }

  function done(entry, status, text) {
    queue.shift();
    again.worked();
    // of a round that was sent meanwhile it stays in this browser, for the next one
    if (status !== 409) outbox.remove(entry.take.key);
    if (status === 200) {
      entry.shown.replace(text);
      checkAgain(); // it may have been heard already
      if (!queue.length) say("server");
    } else {
      entry.shown.refused(text.startsWith("<") ? document.getElementById("kept").dataset.gone : text);
    }
    settle();
    next();
  }

  // what was heard may change what the checks say
  function checkAgain() { htmx.trigger(form, "keep"); }

  function record(button) {
    open?.close();
    const place = button.closest("[data-item]");
    const { item, tempo } = place.dataset;
    open = new Recorder(place.querySelector("[data-recorder-here]"), {
      tempo: Number(tempo),
      keep: (blob, granted) => take(item, blob, `${item}.${blob.type.split("/")[1]}`, granted),
      closed: () => { open = null; button.focus(); },
    });
  }

  section.addEventListener("click", (event) => {
    const button = event.target.closest("[data-record]");
    if (button) record(button);
  });
  section.addEventListener("change", (event) => {
    if (!event.target.matches("[data-take-file]")) return;
    const { item } = event.target.closest("[data-item]").dataset;
    for (const file of event.target.files) take(item, file, file.name, {});
    event.target.value = "";
  });
  form.addEventListener("take-heard", checkAgain);

  outbox.waiting(draft).then((left) => {
    for (const made of left) {
      if (document.getElementById(`take-${made.key}`) || !placeOf(made.item)) outbox.remove(made.key);
      else queue.push({ take: made, shown: show(made) });
    }
    if (left.length) section.open = true;
    next();
  });

  const empty = () => (queue.length ? new Promise((resolve) => { emptied.push(resolve); }) : Promise.resolve());
  return { pending: () => queue.length, empty };
}
