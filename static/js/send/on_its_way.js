// What every file on its way shows, photo or recording: how far it is, why it waits, what came of it.
export function onItsWay(item, objectUrl) {
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
      URL.revokeObjectURL(objectUrl);
      const fresh = document.createElement("template");
      fresh.innerHTML = html;
      const element = fresh.content.firstElementChild;
      item.replaceWith(element);
      htmx.process(element);
    },
  };
}
