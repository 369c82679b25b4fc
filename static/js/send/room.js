// Whether this browser can keep what waits: nothing in some private windows, little where the phone is full.
import { drop, keep } from "./outbox.js";

const ENOUGH_BYTES = 60 * 1024 * 1024; // eight photos and some recordings
const PROBE = { key: "room", draft: "", added: 0 };

// "none", "little", or "" where there is enough
export async function room() {
  if (!(await keep("photos", PROBE))) return "none";
  await drop("photos", PROBE.key);
  const { quota, usage } = (await navigator.storage?.estimate?.().catch(() => null)) ?? {};
  return quota && quota - usage < ENOUGH_BYTES ? "little" : "";
}

// asked once something has to wait: a browser may throw away what it was not asked to keep
let asked = false;
export function keepForLong() {
  if (asked) return;
  asked = true;
  navigator.storage?.persist?.().catch(() => {});
  // a service worker, where there is one, goes on when the page is gone
  navigator.serviceWorker?.getRegistration().then((worker) => worker?.sync?.register("outbox")).catch(() => {});
}
