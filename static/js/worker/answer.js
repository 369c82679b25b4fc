// Answers a page: by the network, and where that says nothing for a while by what is kept, dated.
import { AT, NOBODY, drop, found, keep, settle } from "../offline/whose.js";
import { foundFile } from "./files.js";
import { comes, heldFor } from "./late.js";

const DEADLINE = 3000;
const GONE = [403, 404, 410];
const MADE_FOR = "Made-For";
export const LEADS_TO = "Leads-To";

const after = (milliseconds) => new Promise((go) => { setTimeout(go, milliseconds); });
// Whose an answer is, before it is shown: what is kept of another goes first. Returns the person, or null.
export async function noted(answer) {
  const person = answer.headers.get(MADE_FOR);
  if (person) await settle(person);
  return person && person !== NOBODY ? person : null;
}

// a copy that nobody reads would lie in memory whole, be it the file of an export
function keptOrGone(person, address, answer) {
  if (GONE.includes(answer.status)) return drop(address);
  const isKept = person && answer.ok && answer.headers.has("Keep-Offline") && !new URL(address).search;
  return isKept ? keep(person, address, answer.clone()) : Promise.resolve();
}

async function asked(event) {
  const answer = await fetch(event.request);
  const person = await noted(answer);
  event.waitUntil(keptOrGone(person, event.request.url, answer).catch(() => {}));
  return answer;
}

async function dated(address) {
  const copy = await found(address);
  if (!copy) return null;
  const on = copy.headers.get(LEADS_TO);
  if (on) return Response.redirect(on, 302);
  if (!copy.headers.get("Content-Type")?.startsWith("text/html")) return copy;
  const text = (await copy.text()).replace("<html ", `<html data-as-of="${copy.headers.get(AT)}" `);
  return new Response(text, { status: 200, headers: copy.headers });
}

// The network's answer if it comes in time, else the copy, else whatever comes in the end; `none` where nothing does.
async function answered(event, none) {
  const came = heldFor(event.request.url);
  if (came) return came;
  const network = asked(event);
  event.waitUntil(network.catch(() => {}));
  const first = await Promise.race([network.catch(() => null), after(DEADLINE)]);
  if (first) return first;
  const copy = await dated(event.request.url);
  if (copy && event.request.mode === "navigate") comes(event.request.url, network);
  return copy || network.catch(none);
}

export const page = (event, told) => answered(event, async (error) => {
  const said = await foundFile(told, told.offline);
  if (said) return new Response(said.body, { status: 503, headers: said.headers });
  throw error;
});

export const thing = (event) => answered(event, (error) => { throw error; });
