// What every page does for rooms without a signal: says whose phone it is, brings the worker, tells when it is a copy.
// What it needs for that comes after the page, or when the line is lost.
const { madeFor, keeps, worker } = document.body.dataset;
const isCopy = "asOf" in document.documentElement.dataset;

async function begin() {
  const { settle } = await import("./whose.js");
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

async function withoutLine() {
  const { watch } = await import("./banner.js");
  watch();
}

// begun before the line is lost, so that it is there then
async function watchDraft(form) {
  const { watch } = await import("./draft.js");
  watch(form);
}

function afterThePage() {
  quietly();
  const draft = document.getElementById("draft");
  if (draft) watchDraft(draft).catch(() => {});
  if (document.querySelector("[data-no-line]")) withoutLine().catch(() => {});
}

if (document.readyState === "complete" || isCopy) afterThePage();
else addEventListener("load", afterThePage);
