// How a photo looks on the page while it is on its way.
import { onItsWay } from "./on_its_way.js";

export function coming(photo) {
  const item = document.getElementById("photo-coming").content.firstElementChild.cloneNode(true);
  item.id = `photo-${photo.key}`;
  item.dataset.photo = photo.key;
  item.querySelector(".photo-name").textContent = photo.name;
  const picture = item.querySelector("img");
  picture.onload = () => { picture.hidden = false; };
  picture.src = URL.createObjectURL(photo.blob);
  return onItsWay(item, picture.src);
}
