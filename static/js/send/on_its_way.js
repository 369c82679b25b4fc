// How a file looks on the page while it is on its way, photo or recording: how far it is, why it waits, what came of it.
import { wordsFor } from "./kept.js";
import { size } from "./size.js";
import { isLarge, made } from "./smaller.js";

export function onItsWay(kind, file) {
  const item = document.getElementById(`${kind}-coming`).content.firstElementChild.cloneNode(true);
  item.id = `${kind}-${file.key}`;
  const seen = item.querySelector("img, audio");
  const address = URL.createObjectURL(file.blob);
  if (kind === "photo") import("./quality.js").then(({ advise }) => advise(item, file.blob)).catch(() => {});
  const bar = item.querySelector("progress");
  const said = item.querySelector(".photo-said");
  const [name, now, smaller] = ["[data-name]", "[data-now]", "[data-smaller]"].map((one) => item.querySelector(one));
  const tell = (blob) => { name.textContent = `${file.name} · ${size(blob.size)}`; };
  tell(file.blob);
  // a picture that this browser cannot show stays away, and is sent as it is
  seen.onload = () => { seen.hidden = false; if (smaller && !file.original) smaller.hidden = !isLarge(seen); };
  seen.src = address;

  function refused(sentence, forGood = true) {
    if (forGood) item.dataset.refused = "";
    [bar, now, item.querySelector("[data-smaller]")].forEach((one) => { if (one) one.hidden = true; });
    said.textContent = sentence;
    said.classList.add("said-error");
    said.setAttribute("role", "alert");
  }

  return {
    item,
    on(what, act) { item.querySelector(`[data-${what}]`).addEventListener("click", act); },
    smaller(act) {
      smaller?.querySelector("button").addEventListener("click", async () => {
        smaller.hidden = true;
        const blob = await made(seen, file.blob);
        if (!blob) { said.textContent = said.dataset.whole; return; }
        bar.value = 0;
        tell(blob);
        act(blob);
      }, { once: true });
    },
    // nothing moved: the choice of a smaller one comes forward
    stalled() { if (smaller && !smaller.hidden) smaller.dataset.offered = ""; },
    progress(percent) { bar.value = percent; now.hidden = true; said.textContent = ""; },
    say(state) {
      now.hidden = state === "saving";
      said.textContent = wordsFor(said, state);
    },
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
