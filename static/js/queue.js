// The queue by keyboard: one row is in the tab order, j and k or the arrows move it.
import { keyHelp, onKeys } from "./keys.js";

const rows = () => [...document.querySelectorAll("[data-roving] [data-row]")];
let at = 0;

function mark() {
  at = Math.min(at, Math.max(rows().length - 1, 0));
  rows().forEach((row, index) => { row.tabIndex = index === at ? 0 : -1; });
}

function go(to) {
  const all = rows();
  if (!all.length) return false;
  at = Math.max(0, Math.min(all.length - 1, to));
  mark();
  all[at].focus();
  return true;
}

const onRow = (step) => () => (rows().includes(document.activeElement) ? go(at + step) : go(at));
// arrows scroll the page unless the list has the focus
const arrow = (step) => () => rows().includes(document.activeElement) && go(at + step);

// 'I have this one', said from the list and taken back by the same key; the row keeps the focus
async function claim() {
  const row = document.activeElement;
  const values = "mine" in row.dataset ? { let_go: 1 } : {};
  await htmx.ajax("POST", row.dataset.claim, { swap: "none", values });
  await htmx.ajax("GET", location.pathname + location.search, { target: "#queue", swap: "outerHTML" });
  const same = rows().findIndex((one) => one.dataset.claim === row.dataset.claim);
  go(Math.max(same, 0));
}

document.addEventListener("focusin", (event) => {
  const index = rows().indexOf(event.target);
  if (index >= 0) { at = index; mark(); }
});
document.addEventListener("htmx:afterSwap", () => { at = 0; mark(); });

onKeys({
  j: onRow(1), k: onRow(-1), ArrowDown: arrow(1), ArrowUp: arrow(-1),
  Home: () => rows().includes(document.activeElement) && go(0),
  End: () => rows().includes(document.activeElement) && go(rows().length - 1),
  "/": () => document.querySelector(".queue-filter select")?.focus(),
  c: () => (rows().includes(document.activeElement) ? void claim() : false),
  u: () => document.querySelector("[data-undo]")?.click(),
  ...keyHelp(),
});
mark();
