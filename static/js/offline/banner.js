// Says that there is no line and of when the page is: of a copy, since it was kept; of a page that was there, since it came.
import { rest, wake } from "./forms.js";
import { takeUpLate } from "./late.js";
import { said } from "./moment.js";

const banner = document.querySelector("[data-no-line]");
const sentence = banner?.querySelector("[data-waits]").content.firstElementChild;
const { asOf } = document.documentElement.dataset;
const came = new Date().toISOString();

function lost() {
  said(banner.querySelector("time"), asOf ?? came);
  banner.hidden = false;
  rest(sentence);
}

// a copy stays one, and says how to have the page itself
function back() {
  if (!asOf) {
    banner.hidden = true;
    wake();
    return;
  }
  banner.querySelector("p").replaceWith(banner.querySelector("[data-back]").content.cloneNode(true));
  again();
}

const again = () => { banner.querySelector("[data-again]").href = location.href; };

export function watch() {
  if (!banner) return;
  again();
  if (asOf || !navigator.onLine) lost();
  if (asOf) takeUpLate(back);
  addEventListener("offline", lost);
  addEventListener("online", back);
}
