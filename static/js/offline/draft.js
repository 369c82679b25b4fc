// A draft without a line: as soon as the server does not answer, its numbers are checked on this phone.
let stop = null;

async function here(form) {
  if (stop) return;
  stop = () => {};
  try {
    const { begin } = await import("./findings.js");
    stop = await begin(form);
  } catch {
    stop = null; // it was not kept: a browser without the worker; what is typed is kept all the same
  }
}

function answered() {
  stop?.();
  stop = null;
}

export function watch(form) {
  form.addEventListener("htmx:sendError", () => here(form));
  form.addEventListener("htmx:timeout", () => here(form));
  form.addEventListener("htmx:afterOnLoad", (event) => { if (event.detail.requestConfig.elt === form) answered(); });
  if (document.documentElement.dataset.asOf) here(form);
}
