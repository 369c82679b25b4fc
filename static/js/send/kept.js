// The quiet line that says where what was entered is kept.
export function say(state) {
  const line = document.getElementById("kept");
  if (!line || line.dataset.state === state) return;
  line.dataset.state = state;
  line.textContent = line.dataset[state.replace(/-(.)/g, (_, letter) => letter.toUpperCase())] || "";
}
