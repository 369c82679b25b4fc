// Copies the link beside the button; without a clipboard it selects it, so that one can copy by hand.
const button = document.querySelector("[data-copy]");
const field = document.querySelector("[data-copy-from]");
const told = document.querySelector("[data-copied]");

button.hidden = false;
field.addEventListener("focus", () => field.select());
button.addEventListener("click", async () => {
  try {
    await navigator.clipboard.writeText(field.value);
    told.textContent = button.dataset.done;
  } catch {
    field.focus();
    field.select();
  }
});
