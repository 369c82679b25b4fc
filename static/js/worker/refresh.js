// Keeps what a person's list names, one after the other and only as much as is fair to a phone.
import { AT, drop, found, keep, kept } from "../offline/whose.js";
import { LEADS_TO, noted } from "./answer.js";
import { dropOlder, keepFilesOf, keepOfflinePage } from "./files.js";

const AGAIN = 60 * 60 * 1000;
const MOST_ELSE = 40;
const MOST_PICTURE_BYTES = 8 * 1024 * 1024;
const LIST = "/kept-list";

let running = Promise.resolve();

// one run after the other: a second page that asks meanwhile finds the first one's work done
export function refresh(address, told) {
  running = running.then(() => run(address, told)).catch(() => {}); // the line is lost: the next page asks again
  return running;
}

async function run(address, told) {
  const answer = await fetch(address);
  const person = await noted(answer);
  if (!person || !answer.ok) return;
  const said = await answer.text();
  const mark = `${told.version} ${said}`;
  if (await isFresh(mark)) return;
  const list = JSON.parse(said);
  await keepAll(person, list, told);
  await dropElse(list);
  await keep(person, LIST, new Response(mark));
  await dropOlder(told);
}

async function isFresh(mark) {
  const last = await found(LIST);
  return Boolean(last) && (await last.text()) === mark && Date.now() - Date.parse(last.headers.get(AT)) < AGAIN;
}

async function keepAll(person, { leads, pages, pictures }, told) {
  const seen = new Set();
  await keepOfflinePage(told, seen);
  for (const [from, to] of Object.entries(leads)) {
    await keep(person, from, new Response("", { headers: { [LEADS_TO]: to } }));
  }
  for (const address of pages) {
    const page = await keepOne(person, address);
    if (page?.type.startsWith("text/html")) await keepFilesOf(told, await page.text(), location.origin + address, seen);
  }
  let room = MOST_PICTURE_BYTES;
  for (const address of pictures) if (room > 0) room -= (await keepOne(person, address))?.size ?? 0;
}

// Returns what it holds. Somebody else signed in meanwhile: what this is about is over.
async function keepOne(person, address) {
  const answer = await fetch(address, { priority: "low" });
  if ((await noted(answer)) !== person) throw new Error("another person");
  if (!answer.ok) {
    await drop(address);
    return null;
  }
  const blob = await answer.blob();
  await keep(person, address, new Response(blob, { status: 200, headers: answer.headers }));
  return blob;
}

// of what is not on the list, pages that were looked at, the latest stay
async function dropElse({ leads, pages, pictures }) {
  const cache = await kept();
  if (!cache) return;
  const listed = new Set([...Object.keys(leads), ...pages, ...pictures, LIST]);
  const more = [];
  for (const request of await cache.keys()) {
    const { pathname, search } = new URL(request.url);
    if (listed.has(pathname + search)) continue;
    const answer = await cache.match(request, { ignoreVary: true });
    more.push({ request, at: answer.headers.get("Content-Type")?.startsWith("text/html") ? answer.headers.get(AT) : "" });
  }
  more.sort((one, other) => other.at.localeCompare(one.at));
  const go = more.filter(({ at }, place) => !at || place >= MOST_ELSE);
  await Promise.all(go.map(({ request }) => cache.delete(request, { ignoreVary: true })));
}
