// The page on which a round grows: joins keeping what is typed, sending photos and recordings, and sending the round.
import "../enlarge/page.js";
import { takes } from "../record/takes.js";
import { autosave } from "./autosave.js";
import { chips } from "./chips.js";
import { photos } from "./photos.js";
import { sending } from "./sending.js";

function together(...some) {
  const there = some.filter(Boolean);
  return {
    pending: () => there.reduce((sum, one) => sum + one.pending(), 0),
    empty: () => Promise.all(there.map((one) => one.empty())),
  };
}

const form = document.getElementById("draft");
if (form) {
  const typed = autosave(form);
  sending(form, typed, together(photos(form), takes(form)));
  chips(form);
  document.querySelectorAll("[data-scripted]").forEach((element) => { element.hidden = false; });
}
