// Asks how long the drawn known length is; without an answer the mark is not made.
export function askKnown(form, refuse) {
  const field = form.querySelector("input");
  let waiting = null;

  const close = (millimetres) => {
    form.hidden = true;
    waiting?.(millimetres);
    waiting = null;
  };
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const millimetres = Number(field.value.trim().replace(",", "."));
    if (millimetres > 0 && millimetres <= 500) close(millimetres);
    else refuse();
  });
  field.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    event.stopPropagation();
    close(null);
  });

  // resolves to millimetres, or to null if one leaves it
  return () => {
    waiting?.(null);
    form.hidden = false;
    field.value = "";
    field.focus();
    form.scrollIntoView({ block: "nearest" });
    return new Promise((answer) => { waiting = answer; });
  };
}
