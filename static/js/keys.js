// Single letters as keys: never taken from a text field, and can be switched off for good.
const SWITCH = "keys-off";

const isTyping = (target) => target.closest?.("input:not([type=checkbox], [type=radio]), textarea, select, [contenteditable]");
const areOff = () => localStorage.getItem(SWITCH) === "1";
const name = (event) => (event.shiftKey && /^[A-Z]$/.test(event.key) ? `Shift+${event.key.toLowerCase()}` : event.key);

// keys: {"i": handler}; a handler that returns false leaves the key to the page
export function onKeys(keys) {
  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
    if (isTyping(event.target) || document.querySelector("dialog[open]")) return;
    if (event.key.length === 1 && areOff()) return;
    const handler = keys[name(event)];
    if (handler && handler(event) !== false) event.preventDefault();
  });
}

// the list of keys: a dialog, opened by its buttons or by "k"
export function keyHelp() {
  const dialog = document.getElementById("keys");
  if (!dialog) return {};
  const box = dialog.querySelector("[data-keys-switch]");
  box.checked = !areOff();
  box.addEventListener("change", () => localStorage.setItem(SWITCH, box.checked ? "0" : "1"));
  for (const button of document.querySelectorAll("[data-keys-help]")) {
    button.addEventListener("click", () => dialog.showModal());
  }
  return { k: () => dialog.showModal() };
}
