// The page on which a round grows: joins keeping what is typed, sending photos, and sending the round.
import { autosave } from "./autosave.js";
import { chips } from "./chips.js";
import { photos } from "./photos.js";
import { sending } from "./sending.js";

const form = document.getElementById("draft");
if (form) {
  const typed = autosave(form);
  const pictures = photos(form);
  sending(form, typed, pictures);
  chips(form);
  document.querySelectorAll("[data-scripted]").forEach((element) => { element.hidden = false; });
}
