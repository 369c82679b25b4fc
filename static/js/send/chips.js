// A second tap on a chosen chip takes the choice back, where there is an empty one to go back to.
export function chips(form) {
  let before = null;
  form.addEventListener("pointerdown", (event) => {
    const chip = event.target.closest(".chip");
    before = chip?.querySelector("input:checked") ?? null;
  });
  form.addEventListener("click", (event) => {
    if (!before || event.target !== before) return;
    const none = form.querySelector(`input[type=radio][name="${CSS.escape(before.name)}"][value=""]`);
    before = null;
    if (!none) return;
    none.checked = true;
    none.dispatchEvent(new Event("input", { bubbles: true }));
  });
}
