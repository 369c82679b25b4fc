// How a passage is drawn on the picture of its take: a band over pitch and level, its number at the foot.
const SVG = "http://www.w3.org/2000/svg";

export function shapesOf(player, { start, end }, number, chosen) {
  const { y, height } = player.spanBox;
  const left = player.xOf(Math.min(start, end));
  const width = Math.max(1, player.xOf(Math.max(start, end)) - left);
  const rect = make("rect", { class: chosen ? "span is-chosen" : "span", x: left, width, y, height });
  const text = make("text", { class: "span-number", x: left, dx: 3, y: y + height, dy: -4 });
  text.textContent = number;
  return [rect, text];
}

function make(name, attributes) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  return element;
}
