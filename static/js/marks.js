// A click on a photo makes a point with words.
const stage = document.querySelector("[data-marks]");
stage?.addEventListener("click", async (event) => {
  const photo = event.target.closest("[data-photo]");
  if (!photo) return;
  const box = photo.getBoundingClientRect();
  const [x, y] = [(event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height];
  const words = window.prompt("");
  const annotation = { type: "Annotation", motivation: "commenting", body: [{ type: "TextualBody", value: words }], target: { selector: { type: "SvgSelector", value: `<svg viewBox="0 0 1 1"><circle cx="${x}" cy="${y}" r="0.01"/></svg>` } } };
  await fetch(stage.dataset.marks, { method: "POST", headers: { "X-CSRFToken": document.querySelector("[name=csrfmiddlewaretoken]").value }, body: JSON.stringify({ photo: photo.dataset.photo, key: crypto.randomUUID(), annotation }) });
});
