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
    isFull: () => list.querySelectorAll(".photo:not([data-refused], [data-replaced])").length >= Number(section.dataset.most),
  });

  const camera = document.getElementById("camera");
  let instead = null; // the photo that is taken again

  function takeAll(input) {
    const chosen = [...input.files];
    input.value = "";
    if (instead && chosen.length) {
      instead.dataset.replaced = "";
      instead.querySelector("[data-drop]").click();
    }
    instead = null;
    for (const file of chosen) files.add(file, file.name);
  }

  section.addEventListener("click", ({ target }) => {
    const again = target.closest("[data-again]");
    if (!again) return;
    camera.click();
    instead = again.closest(".photo");
  });
  camera.addEventListener("click", () => { instead = null; }); // one more, unless it is said what for
  section.addEventListener("change", (event) => { if (event.target.matches("[data-photos]")) takeAll(event.target); });
  section.querySelectorAll("[data-photos]").forEach(takeAll); // chosen before this script was there
  return { ...files, takeUp: () => takeOver(form.dataset.draft).then(files.takeUp) };
}
