// Files on their way from this page, photos or recordings: kept in this browser until the server has them, sent one at
// a time; one that does not get through lets the next one go first.
import { aboutOf, tokenOf } from "./about.js";
import { FINAL, sendFile, settled } from "./courier.js";
import { say } from "./kept.js";
import { onItsWay } from "./on_its_way.js";
import * as outbox from "./outbox.js";
import { retry } from "./retry.js";
import { keepForLong } from "./room.js";
import { uuid } from "./uuid.js";

const MOST_BYTES = 25 * 1024 * 1024;

// `kind` names the field, its key and the blank on the page; `place` gives the list a file is shown in, null for none
export function filesOnTheirWay(form, { kind, draft, address, place, isFull = () => false, fields = () => ({}), arrived = () => {} }) {
  const queue = [];
  const emptied = [];
  let busy = false;
  const again = retry(() => tryNow());

  // what goes along with a file so that any page may send it; those of an older page are given it anew
  const addressed = (file) => ({ ...file, ...aboutOf(form), draft, kind, address, fields: fields(file) });

  function show(file) {
    const shown = onItsWay(kind, file);
    place(file)?.append(shown.item);
    shown.on("drop", () => drop(file, shown));
    shown.on("now", tryNow);
    return shown;
  }

  function refusal(blob) {
    if (!blob.size) return "empty";
    if (blob.size > MOST_BYTES) return "large";
    return isFull() ? "most" : "";
  }

  async function add(blob, name, more = {}) {
    const file = addressed({ key: uuid(), name, blob, added: Date.now(), ...more });
    const why = refusal(blob);
    const shown = show(file);
    if (why) { shown.refusedFor(why); return; }
    await keepHere(enqueue(file, shown));
    next();
  }

  async function keepHere(entry) {
    entry.kept = null;
    settle();
    entry.kept = await outbox.put(entry.file);
    if (!entry.kept) entry.shown.say("unkept");
    settle();
  }

  function enqueue(file, shown) {
    const entry = { file, shown, kept: true, tried: false, stop: new AbortController() };
    queue.push(entry);
    shown.smaller(async (blob) => {
      entry.file = { ...file, blob, original: file.blob };
      entry.stop.abort(); // the large one, if it is on its way
      await keepHere(entry);
      tryNow();
    });
    return entry;
  }

  function drop(file, shown) {
    const at = queue.findIndex((entry) => entry.file.key === file.key);
    if (at >= 0) queue.splice(at, 1)[0].stop.abort();
    outbox.remove(file.key);
    shown.item.remove();
    settle();
  }

  // nothing is said to be kept before it is
  function stateNow() {
    if (queue.some(({ kept }) => kept === false)) return "unkept";
    if (queue.some(({ kept }) => kept === null)) return "saving";
    if (queue.some(({ tried }) => tried)) return "phone";
    return queue.length ? "going" : "server";
  }

  function settle() {
    say(kind, stateNow());
    if (!queue.length) emptied.splice(0).forEach((resolve) => resolve());
  }

  function tryNow() {
    queue.forEach((entry) => { entry.tried = false; });
    next();
  }

  async function next() {
    const entry = queue.find(({ tried }) => !tried);
    if (busy || !entry) return;
    busy = true;
    const { file } = entry;
    entry.stop = new AbortController();
    const answer = await sendFile(file, tokenOf(form), { onProgress: entry.shown.progress, signal: entry.stop.signal });
    busy = false;
    if (!queue.includes(entry) || entry.file !== file) next(); // removed, or made smaller, while it was on its way
    else if (FINAL.includes(answer.status)) await done(entry, answer);
    else await later(entry, answer);
  }

  async function later(entry, { status, stalled }) {
    entry.tried = true;
    entry.file.begun = true;
    keepForLong();
    if (stalled) entry.shown.stalled();
    const state = stalled ? "stalled" : "phone";
    // what is not kept here is said to be so, whatever else there is to say
    entry.shown.say(entry.kept === false ? "unkept" : status ? "failed" : state);
    settle();
    if (status === 403) say(kind, "signed-out");
    if (queue.some(({ tried }) => !tried)) next();
    else again.later();
  }

  async function done(entry, answer) {
    queue.splice(queue.indexOf(entry), 1);
    again.worked();
    const { status, text } = answer;
    // of a round that was sent meanwhile it stays in this browser, for the next one; what is refused is said here and now
    if (status === 200 || status === 409) await settled(entry.file, answer);
    else await outbox.remove(entry.file.key);
    if (status === 200) {
      entry.shown.replace(text);
      arrived(entry.file);
    } else {
      entry.shown.refused(text.startsWith("<") ? document.getElementById("kept").dataset.gone : text, status !== 409);
    }
    settle();
    next();
  }

  // what an earlier page left; what belongs to a round that waits to be sent goes with that one
  async function takeUp() {
    const left = await outbox.waiting(draft);
    const { draft: ours, round } = aboutOf(form);
    const send = await outbox.one("sends", ours);
    for (const file of left) {
      if (send && send.round !== round && file.round === send.round) continue;
      if (document.getElementById(`${kind}-${file.key}`) || !place(file)) outbox.remove(file.key);
      else takeUpOne(file);
    }
    next();
    return left.length;
  }

  function takeUpOne(file) {
    const shown = show(file);
    if (file.refused) {
      shown.refused(file.refused === "gone" ? document.getElementById("kept").dataset.gone : file.refused);
      outbox.remove(file.key);
    } else {
      const ours = { ...addressed(file), begun: true };
      enqueue(ours, shown);
      outbox.put(ours);
    }
  }

  const empty = () => (queue.length ? new Promise((resolve) => { emptied.push(resolve); }) : Promise.resolve());
  const unkept = () => queue.some(({ kept }) => kept === false);
  return { add, takeUp, pending: () => queue.length, empty, unkept, tryNow };
}
