// Numbers under the fingers. Enter goes to the next one, after the last to the question: it would send the round half
// typed. One that a photo told and that is typed over was measured by hand.
const WAYPOINTS = "input.number, textarea";

export function nextNumber(form) {
  form.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.isComposing || !event.target.matches("input.number")) return;
    event.preventDefault();
    const open = [...form.querySelectorAll(WAYPOINTS)].filter((one) => one.offsetParent && !one.closest("details:not([open])"));
    open[open.indexOf(event.target) + 1]?.focus();
  });
  form.addEventListener("input", ({ target }) => {
    const method = target.matches("input.number") ? form.elements.namedItem(`${target.name}-method`) : null;
    if (!method?.dataset.byHand || !["photo", "recording"].includes(method.value)) return;
    method.value = method.dataset.byHand;
    method.dispatchEvent(new Event("input", { bubbles: true }));
  });
}
