"""What a thumb has to hit on a phone, and what an eye has to read in drawings: what of it is too small."""

from __future__ import annotations

from tests.browser.large_text import evaluated

LEAST_TARGET, LEAST_LETTERS, LEAST_TYPED = 44, 12, 16

# A target is what one can hit: a choice with its label, a link with its picture, what a style lays around it.
# WCAG 2.5.5 leaves out what stands in a sentence, and a link to where a larger one of the page leads as well.
SMALL_TARGETS = """least => {
  const slack = 0.5;
  const seen = one => one.checkVisibility({ visibilityProperty: true, opacityProperty: true })
    && !one.closest(".unseen, .skip, [inert]") && getComputedStyle(one).clipPath === "none";
  const choice = "input:is([type=checkbox], [type=radio], [type=file])";
  const boxOf = one => {
    const labels = one.matches(choice) ? [...one.labels] : [];
    const boxes = [one, ...labels, ...one.querySelectorAll("*")].flatMap(part => [...part.getClientRects()]);
    return { width: Math.max(...boxes.map(box => box.right)) - Math.min(...boxes.map(box => box.left)),
      height: Math.max(...boxes.map(box => box.bottom)) - Math.min(...boxes.map(box => box.top)) };
  };
  const inSentence = one => {
    if (one.localName !== "a" || !getComputedStyle(one).display.startsWith("inline")) return false;
    const block = one.closest("p, li, td, th, dd, dt, figcaption, caption, h1, h2, h3, label, legend");
    const walk = block && document.createTreeWalker(block, NodeFilter.SHOW_TEXT);
    let words = "";
    while (walk?.nextNode())
      if (!walk.currentNode.parentElement.closest("a, button, .unseen")) words += walk.currentNode.data;
    return /\\p{L}{2}/u.test(words);
  };
  const isHit = one => { // a finger's width around its middle leads to it
    one.scrollIntoView({ block: "center", inline: "center" });
    const box = one.getBoundingClientRect(), far = least / 2 - 1;
    const x = (box.left + box.right) / 2, y = (box.top + box.bottom) / 2;
    return [[0, -far], [0, far], [-far, 0], [far, 0]].every(([right, down]) =>
      one.contains(document.elementFromPoint(x + right, y + down)));
  };
  const large = box => box.width >= least - slack && box.height >= least - slack;
  const name = one => one.textContent.trim().replace(/\\s+/g, " ").slice(0, 40)
    || one.getAttribute("aria-label") || one.name || "";
  const all = [...document.querySelectorAll(
    "a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button]")]
    .filter(seen).map(one => ({ one, box: boxOf(one) }));
  const led = new Set(all.filter(({ one, box }) => one.href && large(box)).map(({ one }) => one.href));
  return all.filter(({ one, box }) => !large(box) && !inSentence(one) && !led.has(one.href) && !isHit(one))
    .map(({ one, box: { width, height } }) => `${Math.round(width)} x ${Math.round(height)}: ` +
      `<${one.localName} class="${one.getAttribute("class") || ""}" in ${one.parentElement.localName}.` +
      `${one.parentElement.className}> ${name(one)}`);
}"""

# but for the numbers of marks, which lie on a photo and stand again beside their words below it
SMALL_LETTERS = """least => [...document.querySelectorAll("svg:not(.marks) text")]
  .filter(one => one.textContent.trim() && one.checkVisibility({ visibilityProperty: true }))
  .map(one => {
    const { a, b, c, d } = one.getScreenCTM();
    const size = parseFloat(getComputedStyle(one).fontSize);
    return { one, high: size * Math.sqrt(Math.abs(a * d - b * c)) };
  })
  .filter(({ high }) => high < least - 0.01)
  .map(({ one, high }) => `${high.toFixed(1)} px in a drawing: "${one.textContent.trim().slice(0, 20)}" ` +
    `in .${one.ownerSVGElement.getAttribute("class")}`)"""


# what one types in or chooses from: an iPhone zooms into a page whose field is in smaller letters
SMALL_FIELDS = """least => [...document.querySelectorAll(
    "input:not([type=hidden], [type=checkbox], [type=radio], [type=file], [type=range]), select, textarea")]
  .map(one => ({ one, size: parseFloat(getComputedStyle(one).fontSize) }))
  .filter(({ size }) => size < least)
  .map(({ one, size }) => `${size} px in a field: <${one.localName} name="${one.name}">`)"""


def small_fields(page) -> list[str]:
    """Name the fields, to be seen or yet to come, that an iPhone would zoom into."""
    return evaluated(page, SMALL_FIELDS, LEAST_TYPED)


def small_targets(page) -> list[str]:
    """Name what one taps on the page and would miss, wherever it is not left out by WCAG 2.5.5."""
    return evaluated(page, SMALL_TARGETS, LEAST_TARGET)


def small_letters(page) -> list[str]:
    """Name the words in drawings that are lower than an eye needs, as large as they are shown."""
    return evaluated(page, SMALL_LETTERS, LEAST_LETTERS)
