// How a recording looks on the page while it is on its way.
export function coming(take) {
  const item = document.getElementById("take-coming").content.firstElementChild.cloneNode(true);
  item.id = `take-${take.key}`;
  item.querySelector("[data-name]").textContent = take.name;
  const sound = item.querySelector("audio");
  sound.src = URL.createObjectURL(take.blob);
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
      URL.revokeObjectURL(sound.src);
      const fresh = document.createElement("template");
      fresh.innerHTML = html;
      const element = fresh.content.firstElementChild;
      item.replaceWith(element);
      htmx.process(element);
    },
  };
}
