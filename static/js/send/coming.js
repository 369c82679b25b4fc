// How a photo looks on the page while it is on its way.
export function coming(photo) {
  const item = document.getElementById("photo-coming").content.firstElementChild.cloneNode(true);
  item.id = `photo-${photo.key}`;
  item.dataset.photo = photo.key;
  item.querySelector(".photo-name").textContent = photo.name;
  const picture = item.querySelector("img");
  picture.onload = () => { picture.hidden = false; };
  picture.src = URL.createObjectURL(photo.blob);
  const bar = item.querySelector("progress");
  const said = item.querySelector(".photo-said");
  return {
    item,
    progress(percent) { bar.value = percent; },
    say(state) { said.textContent = said.dataset[state] || ""; },
    refused(sentence) {
      bar.hidden = true;
      said.textContent = sentence;
      said.classList.add("said-error");
      said.setAttribute("role", "alert");
    },
    replace(html) {
      URL.revokeObjectURL(picture.src);
      const fresh = document.createElement("template");
      fresh.innerHTML = html;
      const element = fresh.content.firstElementChild;
      item.replaceWith(element);
      htmx.process(element);
    },
  };
}
