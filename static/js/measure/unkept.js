// What was set on a photo and not kept yet stays in this browser, so that a page lost or reloaded loses nothing.
const LEFT_OUT = new Set(["csrfmiddlewaretoken", "key", "points", "picture_width", "keep"]);

function read(at) {
  try {
    return JSON.parse(localStorage.getItem(at));
  } catch {
    return null; // a private window: the page itself still holds it
  }
}

function write(at, kept) {
  try {
    if (kept) localStorage.setItem(at, JSON.stringify(kept));
    else localStorage.removeItem(at);
  } catch { /* as above */ }
}

function fields(form) {
  return Object.fromEntries([...new FormData(form)].filter(([name]) => !LEFT_OUT.has(name)));
}

function putBack(form, kept) {
  for (const [name, value] of Object.entries(kept)) {
    const field = form.elements.namedItem(name);
    if (field) field.value = value; // one field, or the radios of one name
  }
}

// restores what is there at once; `data.mine` names the person, the page and the photo
export function keepHere(form, data, points) {
  const at = `measure:${data.mine}`;
  const left = read(at);
  const said = form.querySelector("[data-again]");

  if (left) {
    putBack(form, left.fields);
    points.restore(left.points);
    said.hidden = false;
  }
  said.querySelector("button").addEventListener("click", () => {
    write(at, null);
    location.reload();
  });

  const note = () => write(at, { points: points.everything, fields: fields(form) });
  points.addEventListener("moved", ({ detail }) => detail.done && note());
  form.addEventListener("change", (event) => LEFT_OUT.has(event.target.name) || note());
  form.addEventListener("input", (event) => LEFT_OUT.has(event.target.name) || note());
  document.addEventListener("htmx:afterSwap", ({ detail }) => {
    if (detail.target.id !== "kept-lengths" || !document.querySelector("#kept-lengths .message-success")) return;
    write(at, null);
    said.hidden = true;
  });
  return Boolean(left);
}
