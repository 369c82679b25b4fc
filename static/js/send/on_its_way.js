// How a file looks on the page while it is on its way, photo or recording: how far it is, why it waits, what came of it.
export function onItsWay(kind, file) {
  const item = document.getElementById(`${kind}-coming`).content.firstElementChild.cloneNode(true);
  item.id = `${kind}-${file.key}`;
  item.querySelector("[data-name]").textContent = file.name;
  const seen = item.querySelector("img, audio");
  const address = URL.createObjectURL(file.blob);
  seen.onload = () => { seen.hidden = false; }; // a picture that this browser cannot show stays away
  seen.src = address;
  if (kind === "photo") import("./quality.js").then(({ advise }) => advise(item, file.blob));
  const bar = item.querySelector("progress");
  const said = item.querySelector(".photo-said");

  function refused(sentence, forGood = true) {
    if (forGood) item.dataset.refused = "";
    bar.hidden = true;
    said.textContent = sentence;
    said.classList.add("said-error");
    said.setAttribute("role", "alert");
  }

  return {
    item,
    progress(percent) { bar.value = percent; },
    say(state) { said.textContent = said.dataset[state] || ""; },
    refused,
    refusedFor(why) { refused(said.dataset[why]); },
    replace(html) {
      URL.revokeObjectURL(address);
      const fresh = document.createElement("template");
      fresh.innerHTML = html;
      const element = fresh.content.firstElementChild;
      item.replaceWith(element);
      htmx.process(element);
    },
  };
}
