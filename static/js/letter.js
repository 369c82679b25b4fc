// Writing a letter: a spoken note is kept in its draft; what is typed is not left behind unasked.
import { VoiceNote } from "./voice.js";

const form = document.querySelector("#letter-form");
const token = form.elements.csrfmiddlewaretoken.value;
const note = new VoiceNote(document.querySelector("[data-voice]"), token);
let typed = false;

document.addEventListener("input", ({ target }) => { typed ||= target.form === form; });
window.addEventListener("beforeunload", (event) => { if (typed) event.preventDefault(); });

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const why = await note.settled();
  if (why) return note.say(why, true);
  typed = false;
  form.submit();
});
