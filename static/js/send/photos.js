// Takes photos from the camera or the file chooser, keeps them until the server has them, sends one at a time.
import { coming } from "./coming.js";
import { say } from "./kept.js";
import * as outbox from "./outbox.js";
import { retry } from "./retry.js";
import { upload } from "./upload.js";
import { uuid } from "./uuid.js";

const MOST_BYTES = 25 * 1024 * 1024;

export function photos(form) {
  const list = document.getElementById("photo-list");
  const section = document.getElementById("photos");
  if (!list) return null; // no photos without the guardian's consent
  const queue = [];
  const emptied = [];
  let busy = false;
  const again = retry(() => next());

  function refusal(file) {
    if (!file.size) return "empty";
    if (file.size > MOST_BYTES) return "large";
    return list.querySelectorAll("[data-photo]:not([data-refused])").length >= Number(section.dataset.most) ? "most" : "";
  }

  function show(photo) {
    const shown = coming(photo);
    list.append(shown.item);
    shown.item.querySelector("[data-drop]").addEventListener("click", () => drop(photo, shown));
    return shown;
  }

  async function take(file) {
    const photo = { key: uuid(), draft: form.dataset.draft, name: file.name, blob: file, added: Date.now() };
    const why = refusal(file);
    const shown = show(photo);
    if (why) {
      shown.item.dataset.refused = why;
      shown.refused(shown.item.querySelector(".photo-said").dataset[why]);
      return;
    }
    queue.push({ photo, shown });
    say("photos", "saving");
    if (!(await outbox.put(photo))) shown.say("unkept");
    next();
  }

  function drop(photo, shown) {
    const at = queue.findIndex((entry) => entry.photo.key === photo.key);
    if (at >= 0) queue.splice(at, 1);
    outbox.remove(photo.key);
    shown.item.remove();
    settle();
  }

  function settle() {
    say("photos", queue.length ? "saving" : "server");
    if (!queue.length) emptied.splice(0).forEach((resolve) => resolve());
  }

  async function next() {
    if (busy || !queue.length) return;
    busy = true;
    const entry = queue[0];
    const { status, text } = await upload(form, entry.photo, entry.shown.progress);
    busy = false;
    if (queue[0] !== entry) return next(); // removed while it was on its way
    if (status === 200) return arrived(entry, text);
    if (status === 422 || status === 404 || status === 410) return refused(entry, text);
    if (status === 409) return late(entry, text);
    entry.shown.say(status ? "failed" : "phone");
    say("photos", status === 403 ? "signed-out" : "phone");
    again.later();
  }

  function leave(entry) {
    queue.shift();
    outbox.remove(entry.photo.key);
    again.worked();
  }

  function arrived(entry, html) {
    leave(entry);
    entry.shown.replace(html);
    settle();
    next();
  }

  // the round was sent meanwhile: the photo stays in this browser, for the next one
  function late(entry, sentence) {
    queue.shift();
    entry.shown.refused(sentence);
    settle();
    next();
  }

  function refused(entry, sentence) {
    leave(entry);
    entry.shown.item.dataset.refused = "server";
    entry.shown.refused(sentence.startsWith("<") ? document.getElementById("kept").dataset.gone : sentence);
    settle();
    next();
  }

  function takeAll(input) {
    [...input.files].forEach(take);
    input.value = "";
  }

  section.addEventListener("change", (event) => { if (event.target.matches("[data-photos]")) takeAll(event.target); });
  section.querySelectorAll("[data-photos]").forEach(takeAll); // chosen before this script was there

  outbox.waiting(form.dataset.draft).then((left) => {
    for (const photo of left) {
      if (document.getElementById(`photo-${photo.key}`)) outbox.remove(photo.key);
      else queue.push({ photo, shown: show(photo) });
    }
    next();
  });

  const empty = () => (queue.length ? new Promise((resolve) => { emptied.push(resolve); }) : Promise.resolve());
  return { pending: () => queue.length, empty };
}
