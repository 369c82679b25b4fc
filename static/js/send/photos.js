// Takes photos from the camera or the file chooser and sends them on their way.
import { filesOnTheirWay } from "./files.js";
import { takeOver } from "./first.js";

export function photos(form) {
  const list = document.getElementById("photo-list");
  const section = document.getElementById("photos");
  if (!list) return null; // no photos without the guardian's consent
  const files = filesOnTheirWay(form, {
    kind: "photo",
    draft: form.dataset.draft,
    address: section.dataset.upload,
    place: () => list,
    arrived: ({ original }) => { if (original) import("./waiting.js").catch(() => {}); },
    isFull: () => list.querySelectorAll(".photo:not([data-refused])").length >= Number(section.dataset.most),
  });

  function takeAll(input) {
    for (const file of input.files) files.add(file, file.name);
    input.value = "";
  }

  section.addEventListener("change", (event) => { if (event.target.matches("[data-photos]")) takeAll(event.target); });
  section.querySelectorAll("[data-photos]").forEach(takeAll); // chosen before this script was there
  return { ...files, takeUp: () => takeOver(form.dataset.draft).then(files.takeUp) };
}
