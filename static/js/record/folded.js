// The playing test, one item at a time: what is folded says how it spoke and how much was recorded of it.
export function folded(section) {
  const items = [...section.querySelectorAll("[data-played]")];
  const isBusy = (item) => item.querySelector(".recorder, [data-refused]");

  function sayRecorded(item) {
    const [line, n] = [item.querySelector("[data-recorded]"), item.querySelector("[data-takes]").children.length];
    const said = n ? line.dataset.count.replace("#", n) : "";
    if (line.textContent !== said) line.textContent = said;
    if (item.querySelector("[data-refused]")) item.open = true; // why it was refused is to be seen
  }

  for (const item of items) {
    new MutationObserver(() => sayRecorded(item))
      .observe(item.querySelector("[data-takes]"), { childList: true, subtree: true, attributeFilter: ["data-refused"] });
    item.addEventListener("toggle", () => {
      if (item.open) for (const other of items) if (other !== item && !isBusy(other)) other.open = false;
    });
    sayRecorded(item);
  }
  section.addEventListener("input", ({ target }) => {
    const rated = target.closest("[data-played]")?.querySelector("[data-rated]");
    if (rated && target.type === "radio") rated.textContent = target.value ? target.nextElementSibling.textContent : "";
  });

  // the next item that nothing was recorded of
  return function next(from) {
    const after = items.slice(items.indexOf(from) + 1).find((item) => !item.querySelector("[data-takes]").children.length);
    if (!after) return null;
    after.open = true;
    return after.querySelector("[data-record]");
  };
}
