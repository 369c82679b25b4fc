// How a recording looks on the page while it is on its way.
import { onItsWay } from "../send/on_its_way.js";

export function coming(take) {
  const item = document.getElementById("take-coming").content.firstElementChild.cloneNode(true);
  item.id = `take-${take.key}`;
  item.querySelector("[data-name]").textContent = take.name;
  const sound = item.querySelector("audio");
  sound.src = URL.createObjectURL(take.blob);
  return onItsWay(item, sound.src);
}
