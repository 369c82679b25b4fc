// My usual words: picked by typing, put in at the cursor; what is selected can be kept among them.
export function usualWords(token, said) {
  const dialog = document.getElementById("usual-words");
  const find = dialog.querySelector("input");
  const list = dialog.querySelector("[data-usual-list]");
  const told = dialog.querySelector("[data-usual-said]");
  let field = null;
  let range = [0, 0];

  const isText = (target) => target.matches?.("form.answer textarea, .note textarea, .span-form textarea");
  document.addEventListener("focusout", (event) => {
    if (!isText(event.target)) return;
    field = event.target;
    range = [field.selectionStart, field.selectionEnd];
  });

  const post = (address, data = {}) => {
    const body = new FormData();
    for (const [key, value] of Object.entries(data)) body.append(key, value);
    return fetch(address, { method: "POST", body, headers: { "X-CSRFToken": token } });
  };
  const shown = () => [...list.querySelectorAll("[data-phrase]")].filter((one) => !one.closest("li").hidden);

  function filter() {
    const wanted = find.value.trim().toLowerCase();
    for (const row of list.children) row.hidden = !row.textContent.toLowerCase().includes(wanted);
  }

  function put(phrase) {
    dialog.close();
    field = field?.isConnected ? field : document.querySelector("form.answer textarea");
    if (!field) return;
    const words = phrase.textContent.trim();
    const before = field.value.slice(0, range[0]);
    const gap = before && !/\s$/.test(before) ? " " : "";
    field.focus();
    field.setRangeText(gap + words, range[0], range[1], "end");
    for (const name of ["input", "change"]) field.dispatchEvent(new Event(name, { bubbles: true }));
    if (phrase.dataset.used) post(phrase.dataset.used).catch(() => {});
  }

  async function keep() {
    const words = field ? field.value.slice(...range) || field.value : "";
    try {
      const answer = await post(dialog.dataset.keep, { words });
      const given = await answer.json();
      told.textContent = given.refusal || said.phrase_kept;
      if (given.words) add(given.words);
    } catch {
      told.textContent = said.unsent;
    }
  }

  function add(words) {
    const row = document.createElement("li");
    const button = Object.assign(document.createElement("button"), { type: "button", className: "step", textContent: words });
    button.dataset.phrase = "";
    row.append(button);
    list.append(row);
  }

  function step(by) {
    const all = [find, ...shown()];
    all[(all.indexOf(document.activeElement) + by + all.length) % all.length].focus();
  }

  find.addEventListener("input", filter);
  list.addEventListener("click", (event) => { const one = event.target.closest("[data-phrase]"); if (one) put(one); });
  dialog.querySelector("[data-usual-keep]").addEventListener("click", keep);
  dialog.addEventListener("keydown", (event) => {
    if (event.key === "ArrowDown" || event.key === "ArrowUp") { event.preventDefault(); step(event.key === "ArrowDown" ? 1 : -1); }
    if (event.key === "Enter" && event.target === find) { event.preventDefault(); if (shown()[0]) put(shown()[0]); }
  });

  const open = () => {
    const now = document.activeElement;
    if (isText(now)) { field = now; range = [now.selectionStart, now.selectionEnd]; }
    told.textContent = "";
    find.value = "";
    filter();
    dialog.showModal();
    find.focus();
  };
  document.addEventListener("keydown", (event) => {
    if (event.altKey && event.code === "KeyW" && !dialog.open) { event.preventDefault(); open(); }
  });
  for (const button of document.querySelectorAll("[data-usual-words]")) button.addEventListener("click", open);
  return open;
}
