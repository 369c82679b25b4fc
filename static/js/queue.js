// The queue by keyboard: one row is in the tab order, the arrows move it. Letters are those of words on the screen.
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

// arrows lead into the list from the page itself, and are left to whatever else has the focus
function arrow(step) {
  return () => {
    if (rows().includes(document.activeElement)) return go(at + step);
    return document.activeElement.matches("body, #main") && go(at);
  };
}

// 'I have this one', said from the list and taken back by the same key; the row keeps the focus
async function claim() {
  const row = document.activeElement;
  const values = "mine" in row.dataset ? { let_go: 1 } : {};
  await htmx.ajax("POST", row.dataset.claim, { swap: "none", values });
  await htmx.ajax("GET", location.pathname + location.search, { target: "#queue", swap: "outerHTML" });
  const same = rows().findIndex((one) => one.dataset.claim === row.dataset.claim);
  go(Math.max(same, 0));
}

function choose() {
  if (!rows().includes(document.activeElement)) return false;
  document.activeElement.closest("li").querySelector("[data-choose]").click();
  return true;
}

document.addEventListener("focusin", (event) => {
  const index = rows().indexOf(event.target);
  if (index >= 0) { at = index; mark(); }
});
document.addEventListener("htmx:afterSwap", () => { at = 0; mark(); });

onKeys({
  ArrowDown: arrow(1), ArrowUp: arrow(-1),
  Home: () => rows().includes(document.activeElement) && go(0),
  End: () => rows().includes(document.activeElement) && go(rows().length - 1),
  e: () => go(at),
  s: () => document.querySelector(".queue-filter select")?.focus(),
  c: choose,
  i: () => (rows().includes(document.activeElement) ? void claim() : false),
  t: () => document.querySelector("[data-take-back]")?.click(),
  ...keyHelp(),
});
mark();
