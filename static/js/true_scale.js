// What a flat photo's scale is: ten millimetres as a bar, and how much larger than life it stands.
const CSS_PX_PER_MM = 96 / 25.4;

const one = (number) => number.toLocaleString(document.documentElement.lang, { maximumFractionDigits: 1 });
const ratio = (times) => (times >= 1 ? `${one(times)} : 1` : `1 : ${one(1 / times)}`);

export function sayScale(viewer, place, said) {
  const [bar, words] = [place.querySelector("[data-scale-bar]"), place.querySelector("[data-scale-said]")];
  viewer.addEventListener("placed", () => {
    place.hidden = !viewer.lie.isFlat;
    if (place.hidden) return;
    bar.style.width = `${(10 * viewer.scale).toFixed(1)}px`;
    const stands = ratio(viewer.scale / CSS_PX_PER_MM);
    words.textContent = `10 mm · ${viewer.lie.isClicked ? stands : said.about.replace("%s", stands)}`;
  });
}
