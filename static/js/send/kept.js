// The quiet line that says where what was entered is kept. Numbers, photos and the sending each have a state of
// their own; the line shows the least good of them, so that it never promises too much.
const ORDER = ["gone", "signed-out", "unkept", "sends-later", "sends-photos", "sending", "elsewhere", "saving", "phone", "going", "server"];
const states = new Map();

// How a state is called: by the place that shows it, else as on every page (_waiting.html).
export function wordsFor(place, state) {
  const name = state.replace(/-(.)/g, (_, letter) => letter.toUpperCase());
  return place.dataset[name] || document.getElementById("waiting")?.dataset[name] || "";
}

export function say(source, state) {
  states.set(source, state);
  const shown = ORDER.find((one) => [...states.values()].includes(one)) || "";
  const line = document.getElementById("kept");
  if (!line || line.dataset.state === shown) return;
  line.dataset.state = shown;
  line.textContent = wordsFor(line, shown);
}
