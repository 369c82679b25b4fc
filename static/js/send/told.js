// Says in one line what the checks say now, where a screen reader hears it; the findings themselves are read by who
// goes to them. The same line twice is said once.
export function told() {
  const line = document.getElementById("told");
  document.addEventListener("htmx:afterSwap", () => {
    const said = document.getElementById("checked")?.dataset.told;
    if (said !== undefined && said !== line.textContent) line.textContent = said;
  });
}
