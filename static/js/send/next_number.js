// Enter in a number goes to the next one, after the last to the question: it would send the round half typed.
const WAYPOINTS = "input.number, textarea";

export function nextNumber(form) {
  form.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.isComposing || !event.target.matches("input.number")) return;
    event.preventDefault();
    const open = [...form.querySelectorAll(WAYPOINTS)].filter((one) => one.offsetParent && !one.closest("details:not([open])"));
    open[open.indexOf(event.target) + 1]?.focus();
  });
}
