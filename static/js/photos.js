// Uploads each chosen photo at once, with a key of its own so that a second try keeps one.
const section = () => document.querySelector("[data-upload]");

async function upload(file) {
  const body = new FormData();
  body.append("photo", file);
  body.append("key", crypto.randomUUID());
  const headers = { "X-CSRFToken": document.querySelector("[name=csrfmiddlewaretoken]").value, "HX-Request": "true" };
  const answer = await fetch(section().dataset.upload, { method: "POST", body, headers });
  section().outerHTML = await answer.text();
}

document.addEventListener("change", async (event) => {
  if (event.target.id !== "photo") return;
  for (const file of event.target.files) await upload(file);
});
