// A demonstration recorded in the page: it stands in the form's own field, as a file that was chosen.
import { Recorder } from "./record/recorder.js";

const form = document.querySelector("[data-shown]");
const button = form.querySelector("[data-record]");
const field = form.elements.sound;

button.hidden = false;
button.addEventListener("click", () => {
  new Recorder(form.querySelector("[data-recorder-here]"), {
    spoken: true, // no count-in, two minutes
    keep: (blob) => {
      const chosen = new DataTransfer();
      chosen.items.add(new File([blob], `shown.${blob.type.split("/")[1]}`, { type: blob.type }));
      field.files = chosen.files;
    },
    closed: () => button.focus(),
  });
});
