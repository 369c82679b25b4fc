// Signing out leaves nothing of this person in the browser; it says beforehand if something was not sent yet.
import { NOBODY, settle } from "./offline/whose.js";
import { leftBy, remove } from "./send/outbox.js";

const LONGEST = 3000;
const form = document.querySelector("[data-sign-out]");
const person = form.dataset.signOut;
const kinds = ["draft", "measure"].map((kind) => `${kind}:${person}/`);

function names() {
  try {
    return Object.keys(localStorage).filter((name) => kinds.some((kind) => name.startsWith(kind)));
  } catch {
    return []; // no storage in a private window
  }
}

// words that the server has not said it has; points on a photo are only looked for, not missed
function hasWords(name) {
  try {
    return Object.keys(JSON.parse(localStorage.getItem(name)).fields).length > 0;
  } catch {
    return false;
  }
}

async function forget() {
  if ("caches" in window) await settle(NOBODY);
  for (const name of names()) localStorage.removeItem(name);
  for (const { key } of await leftBy(person)) await remove(key);
}

leftBy(person).then((left) => {
  if (left.length || names().some(hasWords)) form.querySelector("[data-unsent]").hidden = false;
});

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const late = new Promise((go) => { setTimeout(go, LONGEST); });
  await Promise.race([forget().catch(() => {}), late]);
  form.submit();
});
