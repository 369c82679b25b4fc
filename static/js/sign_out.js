// Signing out leaves nothing of this person in the browser; it says beforehand if something was not sent yet.
import { NOBODY, settle } from "./offline/whose.js";
import { forgetAllOf, leftBy } from "./send/outbox.js";

const LONGEST = 3000;
const form = document.querySelector("[data-sign-out]");
const person = form.dataset.signOut;
// points on a photo, and what a page of an older version kept of a draft
const kinds = ["draft", "measure"].map((kind) => `${kind}:${person}/`);

function names() {
  try {
    return Object.keys(localStorage).filter((name) => kinds.some((kind) => name.startsWith(kind)));
  } catch {
    return []; // no storage in a private window
  }
}

// the server forgets where this device is told; so does the service that brings its notices
async function untold() {
  navigator.clearAppBadge?.().catch(() => {}); // not installed
  const registration = await navigator.serviceWorker?.getRegistration();
  await (await registration?.pushManager?.getSubscription())?.unsubscribe();
}

async function forget() {
  if ("caches" in window && "locks" in navigator) await settle(NOBODY);
  for (const name of names()) localStorage.removeItem(name);
  await forgetAllOf(person);
  await untold();
}

leftBy(person).then(({ files, typed, sends }) => {
  if (files.length || typed.length || sends.length) form.querySelector("[data-unsent]").hidden = false;
});

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const late = new Promise((go) => { setTimeout(go, LONGEST); });
  await Promise.race([forget().catch(() => {}), late]);
  form.submit();
});
