// The page on which a round grows: joins keeping what is typed, sending photos and recordings, and sending the round.
import "../enlarge/page.js";
import { takes } from "../record/takes.js";
import { autosave } from "./autosave.js";
import { chips } from "./chips.js";
import { nextNumber } from "./next_number.js";
import { photos } from "./photos.js";
import { room } from "./room.js";
import { sending } from "./sending.js";
import { told } from "./told.js";

function together(...some) {
  const there = some.filter(Boolean);
  return {
    pending: () => there.reduce((sum, one) => sum + one.pending(), 0),
    empty: () => Promise.all(there.map((one) => one.empty())),
    tryNow: () => there.forEach((one) => one.tryNow()),
    unkept: () => there.some((one) => one.unkept()),
    takeUp: () => Promise.all(there.map((one) => one.takeUp())),
  };
}

async function sayRoom() {
  const line = document.getElementById("room");
  const state = await room();
  line.textContent = line.dataset[state] || "";
  line.hidden = !state;
}

const form = document.getElementById("draft");
if (form) {
  const typed = autosave(form);
  const files = together(photos(form), takes(form));
  const send = sending(form, typed, files);
  chips(form);
  nextNumber(form);
  told();
  sayRoom();
  Promise.all([typed.begun, files.takeUp()]).then(send.takeUp).then(() => { form.dataset.takenUp = ""; });
  // what only this page holds is not left without a word
  addEventListener("beforeunload", (event) => {
    if (files.unkept() || typed.unkept() || send.unkept()) event.preventDefault();
  });
  document.querySelectorAll("[data-scripted]").forEach((element) => { element.hidden = false; });
}
