// What waits in this browser, on any page: shown with its size, and sent in the background until the server has it.
import { byDraft, deliver, goes } from "./courier.js";
import { drop, remove } from "./outbox.js";
import { retry } from "./retry.js";
import { keepForLong } from "./room.js";
import { size } from "./size.js";

const OF_NO_REED = "/new"; // photos whose reed is not chosen yet: see first.js
const UNKNOWN_LINE_MS = 600000;

const place = document.getElementById("waiting");
const list = place.querySelector("ul");
const { person } = document.body.dataset;
const said = place.querySelector("[data-said]");
const [rowBlank, sentBlank, staysBlank] = ["waiting-row", "waiting-sent", "waiting-stays"].map((id) => document.getElementById(id).content);
const hand = document.getElementById("draft"); // a page that sees to its own draft
const again = retry(() => go());
let going = false;
let pressed = false;

const token = () => JSON.parse(document.body.getAttribute("hx-headers"))["X-CSRFToken"];
const fill = (words, number) => words.replace("%", number);

// the one draft that this page sees to; not where a Send of the round before it waits
function inHand({ draft, send }) {
  if (hand?.dataset.draft !== draft) return false;
  return !send || send.round === hand.elements.namedItem("key").value;
}

// an original goes by itself where the line is good, or nothing is known of it and it has waited
function isGood(file) {
  const line = navigator.connection;
  if (pressed) return true;
  if (line?.saveData) return false;
  return line?.effectiveType ? line.effectiveType === "4g" : Date.now() - file.added > UNKNOWN_LINE_MS;
}

function wordsOf({ typed, files, send }) {
  const { dataset } = place;
  const first = files.filter((file) => !file.better);
  const count = (kind) => first.filter((file) => (file.kind ?? "photo") === kind && !file.refused).length;
  const better = files.filter((file) => file.better);
  const bytes = files.reduce((sum, file) => sum + file.blob.size, 0);
  const words = [
    typed.length && dataset.numbers,
    count("photo") && fill(dataset.photos, count("photo")),
    count("take") && fill(dataset.takes, count("take")),
    better.length && fill(dataset.originals, better.length),
    bytes && size(bytes),
    ...first.filter((file) => file.refused).map((file) => (file.refused === "gone" ? dataset.gone : file.refused)),
    send && { asked: dataset.asked, gone: dataset.gone }[send.refused ?? ""],
    send && !send.refused && dataset.send,
  ];
  return words.filter(Boolean).join(" · ");
}

function row(draft) {
  const item = rowBlank.firstElementChild.cloneNode(true);
  const { page, reed } = draft.send ?? draft.typed[0] ?? draft.files[0];
  const link = item.querySelector("a");
  link.href = page ?? "#";
  link.textContent = fill(link.dataset.words, reed ?? "");
  item.querySelector("[data-what]").textContent = wordsOf(draft);
  item.querySelector("progress").dataset.draft = draft.draft;
  const away = item.querySelector("button");
  const lost = [...draft.files, ...(draft.send ? [draft.send] : [])].filter((one) => one.refused);
  away.hidden = !lost.length;
  away.addEventListener("click", async () => {
    await Promise.all(lost.map((one) => (one.key ? remove(one.key) : drop("sends", one.draft))));
    show();
  });
  return item;
}

async function show() {
  const drafts = (await byDraft(person)).map((draft) => (
    inHand(draft) ? { ...draft, typed: [], send: null, files: draft.files.filter((file) => file.better) } : draft
  )).filter(({ draft, typed, files, send }) => (typed.length || files.length || send) && !draft.endsWith(OF_NO_REED));
  list.replaceChildren(...drafts.map(row));
  place.querySelector("[data-waits]").hidden = !drafts.length;
  place.hidden = !drafts.length && !place.querySelector("[data-sent]");
  return drafts;
}

function tell({ file, percent, sent, to, stays }) {
  if (stays) {
    const line = staysBlank.firstElementChild.cloneNode(true);
    line.textContent = stays;
    place.append(line);
  }
  if (sent) {
    const line = sentBlank.firstElementChild.cloneNode(true);
    const link = line.querySelector("a");
    link.href = to;
    link.textContent = fill(link.dataset.words, sent.reed);
    place.append(line);
  }
  if (percent === undefined) { show(); return; }
  const bar = [...list.querySelectorAll("progress")].find(({ dataset }) => file.draft.startsWith(dataset.draft));
  if (bar) [bar.hidden, bar.value] = [false, percent];
}

async function go() {
  if (going) return;
  going = true;
  said.textContent = place.dataset.sending;
  const held = (await byDraft(person)).find(inHand);
  await deliver(person, token(), { tell, except: held?.draft ?? "", originals: isGood });
  const left = await show();
  going = false;
  const moves = left.some(({ typed, files, send }) => [...typed, ...files.filter((file) => !file.better), send].some((one) => one && goes(one)));
  said.textContent = moves ? place.dataset.phone : "";
  if (moves) { keepForLong(); again.later(); }
}

place.querySelector("[data-now]").addEventListener("click", () => { pressed = true; again.now(); });
show().then(go);
