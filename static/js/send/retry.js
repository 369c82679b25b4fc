// Calls again when the connection may be back: told by the browser, by the page coming to the front, or by time.
export function retry(again) {
  let timer = 0;
  let wait = 3000;
  const now = () => { clearTimeout(timer); timer = 0; again(); };
  addEventListener("online", now);
  document.addEventListener("visibilitychange", () => { if (!document.hidden && timer) now(); });
  return {
    later() {
      clearTimeout(timer);
      timer = setTimeout(now, wait);
      wait = Math.min(wait * 2, 60000);
    },
    worked() { clearTimeout(timer); timer = 0; wait = 3000; },
  };
}
