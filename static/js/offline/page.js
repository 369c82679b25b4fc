// What every page does for rooms without a signal: says whose phone it is, brings the worker, tells when it is a copy.
import { settle } from "./whose.js";

const { madeFor, keeps, worker } = document.body.dataset;

async function begin() {
  if (madeFor) await settle(madeFor);
  if (!worker) return;
  await navigator.serviceWorker.register(worker, { type: "module" });
  if (!keeps) return;
  const { active } = await navigator.serviceWorker.ready;
  active.postMessage({ keep: keeps });
}

// a browser that has none of it, or forbids it, shows the site as it always was
function quietly() {
  if (!("caches" in window && "locks" in navigator && "serviceWorker" in navigator)) return;
  begin().catch(() => {});
}

// what the page itself needs comes first
if (document.readyState === "complete") quietly();
else addEventListener("load", quietly);
