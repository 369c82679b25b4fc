// Writing a letter: a spoken note is kept in its draft, to be heard while it is written down.
import { VoiceNote } from "./voice.js";

const section = document.querySelector("[data-voice]");
new VoiceNote(section, document.querySelector("[name=csrfmiddlewaretoken]").value);
