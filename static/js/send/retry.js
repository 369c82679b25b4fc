// Calls again when the connection may be back: told by the browser, by the page coming to the front, or by time.
const FIRST_MS = 3000;
const LONGEST_MS = 30000;

// somewhat random, so that all phones of a room do not come back at one moment
const about = (wait) => wait * (0.7 + 0.6 * Math.random());

export function retry(again) {
  let timer = 0;
  let wait = FIRST_MS;
  const now = () => { clearTimeout(timer); timer = 0; again(); };
  addEventListener("online", now);
  document.addEventListener("visibilitychange", () => { if (!document.hidden && timer) now(); });
  return {
    later() {
      clearTimeout(timer);
      timer = setTimeout(now, about(wait));
      wait = Math.min(wait * 2, LONGEST_MS);
    },
    now,
    worked() { clearTimeout(timer); timer = 0; wait = FIRST_MS; },
  };
}
