// Brings what waits in this browser to the server, in its order: what was typed, photos, recordings, then the Send.
// All of it may come twice: the server knows each by its key. It knows no page, so that a service worker may call it.
import { formOf } from "./form_of.js";
import { all, dropIf, drop, keep, leftBy, one, remove } from "./outbox.js";
import { sendPast } from "./past.js";
import { isElsewhere, post } from "./upload.js";

export const FINAL = [200, 404, 409, 410, 422];
const BUSY = { status: 0, text: "", elsewhere: true };
const LONGEST_ELSEWHERE = 120000;
const since = new Map();

// One page at a time sends a file; one that stands still, frozen by its phone, holds nobody off for long.
async function alone(key, act) {
  if (!navigator.locks) return act();
  const answer = await navigator.locks.request(`sends ${key}`, { ifAvailable: true }, (lock) => (lock ? act() : BUSY));
  if (answer !== BUSY) { since.delete(key); return answer; }
  if (!since.has(key)) since.set(key, Date.now());
  return Date.now() - since.get(key) > LONGEST_ELSEWHERE ? act() : BUSY;
}

// `file` says what it is and where it goes; of one that may have come already the server is asked first
export function sendFile(file, token, more = {}) {
  // what is cut off on its way is known by its size
  const named = { key: file.round, [`${file.kind}-key`]: file.key, ...file.fields };
  const better = file.better ? { better: "1" } : {};
  return alone(file.key, async () => {
    const there = file.begun && !file.better && (await post(file.address, { token, body: formOf({ ...named, ask: "1" }) }));
    if (there && there.status !== 204) return there;
    const past = file.direct && !file.better && (await sendPast(file, named, token, more));
    if (past) return past;
    const body = formOf({ ...named, ...better, [`${file.kind}-size`]: file.blob.size });
    body.append(file.kind, file.blob, file.name);
    return post(file.address, { token, body, ...more });
  });
}

// `values` is what was typed and the server has not yet said it has
export function sendRound(send, values, token) {
  return post(send.go, { token, body: formOf({ key: send.round, ...values }) });
}

const valuesOf = (rows) => ({
  ...Object.fromEntries(rows.map(({ name, value }) => [name, value])),
  typed_at: JSON.stringify(Object.fromEntries(rows.map(({ name, at }) => [name, at]))),
  clock: String(Date.now()),
});

const forget = (rows) => Promise.all(
  rows.map(({ draft, name, at }) => dropIf("typed", [draft, name], (now) => now.at <= at)),
);

async function bringTyped(rows, token) {
  const { save, round } = rows[0];
  const { status } = await post(save, { token, body: formOf({ key: round, ...valuesOf(rows) }) });
  if (status === 200) await forget(rows);
  // too late for its round: its own page begins the next one with it
  else if (FINAL.includes(status)) await Promise.all(rows.map((row) => keep("typed", { ...row, round: "" })));
}

// What a file becomes by an answer: gone where it came, kept for the next round if too late, and said where refused.
export async function settled(file, { status, text }) {
  if (status === 200 && file.original) await keep("photos", { ...file, blob: file.original, original: null, better: true });
  else if (status === 200 || file.better) await remove(file.key);
  else if (status === 409) await keep("photos", { ...file, round: "" });
  else await keep("photos", { ...file, refused: status === 422 ? text : "gone" });
}

async function bringFile(file, token, tell) {
  const answer = await sendFile(file, token, { onProgress: (percent) => tell({ file, percent }) });
  if (file.better && answer.status === 200) tell({ stays: answer.text });
  if (FINAL.includes(answer.status)) await settled(file, answer);
  else if (!file.begun && !answer.elsewhere) await keep("photos", { ...file, begun: true });
}

async function bringRound(send, rows, token, tell) {
  const { status, text } = await sendRound(send, valuesOf(rows), token);
  if (status === 200) {
    await forget(rows);
    await drop("sends", send.draft);
    tell({ sent: send, to: JSON.parse(text).to });
  } else if (FINAL.includes(status)) await keep("sends", { ...send, refused: status === 422 ? "asked" : "gone" });
}

const draftOf = (row) => row.draft.replace(/\/takes$/, "");

// what waits of one person, by draft; `files` in the order in which they go
export async function byDraft(person) {
  const left = await leftBy(person);
  const rows = [...left.typed, ...left.files, ...left.sends];
  return [...new Set(rows.map(draftOf))].map((draft) => {
    const of = (some) => some.filter((row) => draftOf(row) === draft);
    const files = of(left.files).sort((a, b) => (a.kind ?? "").localeCompare(b.kind ?? "") || a.added - b.added);
    return { draft, typed: of(left.typed), files, send: of(left.sends)[0] ?? null };
  });
}

// what goes by itself: not what was refused, what waits for another round, or what an older page kept without an address
export const goes = (row) => Boolean(row.draft && row.round && !row.refused);

async function bringDraft(person, { draft, typed, files }, { token, tell, originals }) {
  const rows = typed.filter(goes);
  if (rows.length) await bringTyped(rows, token);
  for (const file of files.filter((each) => goes(each) && (!each.better || originals(each)))) {
    if (await one("photos", file.key)) await bringFile(file, token, tell);
    tell({});
  }
  const now = (await byDraft(person)).find((each) => each.draft === draft);
  const first = now?.files.some((file) => goes(file) && !file.better);
  if (now?.send && goes(now.send) && !first) await bringRound(now.send, now.typed.filter(goes), token, tell);
  tell({});
}

// All that waits of one person; of the draft `except`, which a page has in hand, only the better pictures.
// `originals` says of one of those whether it goes now, `tell` hears how it goes on.
export async function deliver(person, token, { tell = () => {}, except = "", originals = () => false } = {}) {
  for (const draft of await byDraft(person)) {
    if (draft.draft !== except) await bringDraft(person, draft, { token, tell, originals });
    else for (const file of draft.files.filter((each) => each.better && originals(each))) await bringFile(file, token, tell);
  }
}

const rowsThatGo = async () => (await Promise.all(["typed", "photos", "sends"].map(all))).flat().filter((row) => goes(row) && !row.better);

// Without a page, by a service worker: a page of the site says whose session it is, and with which token they send.
// It fails while anything waits, so that it is called again.
export async function deliverUnseen() {
  const [first] = await rowsThatGo();
  if (!first) return;
  const answer = await fetch(first.page);
  const html = await answer.text();
  const [, person] = html.match(/ data-person="(\d+)"/) ?? [];
  const [, token] = html.match(/"X-CSRFToken": "(\w+)"/) ?? [];
  if (isElsewhere(answer.url, first.page) || !person || !token) return; // signed out, or somebody else's turn
  await deliver(person, token);
  const own = (await rowsThatGo()).filter(({ draft }) => draft.startsWith(`${person}/`));
  if (own.length) throw new Error("Some of it waits.");
}
