// A copy that was shown because the page was slow to come, though there is a line: the page itself is taken up when it
// is there, so that nobody goes on with an older state than their own; where one has begun on the copy, it is offered.
const BEGUN = ["pointerdown", "keydown", "input"];

export function takeUpLate(offer) {
  const worker = navigator.serviceWorker?.controller;
  if (!worker) return;
  const address = location.href.split("#")[0];
  let isBegun = false;
  for (const one of BEGUN) addEventListener(one, () => { isBegun = true; }, { capture: true });
  navigator.serviceWorker.addEventListener("message", ({ data }) => {
    if (data?.came !== address) return;
    if (isBegun) offer();
    else location.reload();
  });
  worker.postMessage({ late: address });
}
