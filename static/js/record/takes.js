// Recordings of the playing test: recorded or chosen, and sent on their way.
import { filesOnTheirWay } from "../send/files.js";
import { folded } from "./folded.js";
import { Recorder } from "./recorder.js";

export function takes(form) {
  const section = document.getElementById("takes");
  if (!section?.querySelector("[data-record]")) return null; // none without the guardian's consent
  const of = section.querySelector("[data-takes-of]");
  const next = folded(section);
  let open = null;

  // what was heard may change what the checks say
  const checkAgain = () => htmx.trigger(form, "keep");
  const placeOf = (item) => section.querySelector(`[data-item="${CSS.escape(item)}"]`);
  const files = filesOnTheirWay(form, {
    kind: "take",
    draft: `${form.dataset.draft}/takes`,
    address: section.dataset.upload,
    place: ({ item }) => placeOf(item)?.querySelector("[data-takes]"),
    fields: (take) => ({ item: take.item, of: take.of, granted: JSON.stringify(take.granted) }),
    arrived: checkAgain, // it may have been heard already
  });
  const add = (item, blob, name, granted) => files.add(blob, name, { item, granted, of: of?.value ?? "" });

  function record(button) {
    open?.close();
    const place = button.closest("[data-item]");
    const { item, tempo } = place.dataset;
    let goesTo = button;
    open = new Recorder(place.querySelector("[data-recorder-here]"), {
      tempo: Number(tempo),
      keep: (blob, granted) => {
        add(item, blob, `${item}.${blob.type.split("/")[1]}`, granted);
        goesTo = next(button.closest("[data-played]")) ?? button;
      },
      closed: () => { open = null; goesTo.focus(); },
    });
  }

  section.addEventListener("click", (event) => {
    const button = event.target.closest("[data-record]");
    if (button) record(button);
  });
  section.addEventListener("change", (event) => {
    if (!event.target.matches("[data-take-file]")) return;
    const { item } = event.target.closest("[data-item]").dataset;
    for (const file of event.target.files) add(item, file, file.name, {});
    event.target.value = "";
  });
  form.addEventListener("take-heard", checkAgain);
  return { ...files, takeUp: () => files.takeUp().then((left) => { if (left) section.open = true; }) };
}
