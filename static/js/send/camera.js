// The camera first: photos taken on the desk are kept, then one says of which reed they are.
import { keepPhoto, WITH_PHOTO } from "./first.js";
import { remove, waiting } from "./outbox.js";
import { advise } from "./quality.js";

const place = document.querySelector("[data-photos-first]");
const { photosFirst: draft, then } = place.dataset;
const list = place.querySelector("[data-waiting]"); // on the page on which the reed is chosen
const camera = place.querySelector("[capture]");
let instead = ""; // the key of the photo that is taken again

function takeAgain(photo) {
  camera.click();
  instead = photo.key;
}

function row(photo) {
  const item = place.querySelector("[data-row]").content.firstElementChild.cloneNode(true);
  const picture = item.querySelector("img");
  picture.onload = () => { picture.hidden = false; URL.revokeObjectURL(picture.src); };
  picture.src = URL.createObjectURL(photo.blob);
  item.querySelector("[data-name]").textContent = photo.name;
  item.querySelector("[data-drop]").addEventListener("click", async () => {
    await remove(photo.key);
    refresh();
  });
  item.id = `photo-${photo.key}`;
  const again = item.querySelector("[data-again]");
  again.addEventListener("click", () => takeAgain(photo));
  advise(item, photo.blob).then((flaws) => { again.hidden = !flaws.length; });
  return item;
}

// every way on to a draft takes the photos along, where there are any
function lead(onto) {
  const hash = onto ? WITH_PHOTO : "";
  for (const link of document.querySelectorAll("a[data-with]")) link.hash = hash;
  for (const form of document.querySelectorAll("form[data-with]")) form.action = form.action.replace(/#.*|$/, hash);
  for (const link of document.querySelectorAll("a[data-makes]")) {
    link.search = `?then=${onto ? "photo" : "send"}`;
  }
}

async function refresh() {
  const photos = await waiting(draft);
  if (list) {
    const there = new Map([...list.children].map((item) => [item.id, item]));
    list.replaceChildren(...photos.map((photo) => there.get(`photo-${photo.key}`) ?? row(photo)));
    lead(photos.length > 0);
  } else place.querySelector("[data-waits]").hidden = !photos.length;
}

async function take(input) {
  const files = [...input.files];
  if (!files.length) return;
  input.value = "";
  const kept = await Promise.all(files.map((file, place) => keepPhoto(draft, file, place)));
  place.querySelector("[data-no-room]").hidden = kept.every(Boolean);
  if (instead && kept.every(Boolean)) await remove(instead);
  instead = "";
  if (list || !kept.every(Boolean)) refresh();
  else location.assign(then);
}

for (const element of [place, ...place.querySelectorAll("*")]) if ("scripted" in element.dataset) element.hidden = false;
place.addEventListener("change", (event) => take(event.target));
camera.addEventListener("click", () => { instead = ""; }); // one more, unless it is said what for
addEventListener("pageshow", (event) => { if (event.persisted) refresh(); });
place.querySelectorAll("input").forEach(take); // chosen before this script was there
refresh();
