"""What a thumb has to hit on a phone, and what an eye has to read in drawings: how small it is, as measured."""

from __future__ import annotations

LEAST_TARGET, LEAST_LETTERS = 44, 12

# A target is what one can hit: a choice's label with it, a summary's whole line. WCAG 2.5.5 leaves out what stands
# in a sentence, and what is done just as well by another target of the page: a link to where another one leads.
SMALL_TARGETS = """least => {
  const slack = 0.5, seen = one => one.checkVisibility({ visibilityProperty: true, opacityProperty: true });
  const hidden = one => one.closest(".unseen, .skip, [inert]") || getComputedStyle(one).clipPath !== "none";
  const boxOf = one => {
    const label = one.matches("input:is([type=checkbox], [type=radio], [type=file])") && one.labels?.[0];
    const boxes = [one, ...(label ? [label] : []), ...one.querySelectorAll("img, svg, .thumb-of")]
      .filter(seen).flatMap(part => [...part.getClientRects()]);
    return { width: Math.max(...boxes.map(box => box.right)) - Math.min(...boxes.map(box => box.left)),
      height: Math.max(...boxes.map(box => box.bottom)) - Math.min(...boxes.map(box => box.top)) };
  };
  const inSentence = one => {
    if (one.localName !== "a" || !getComputedStyle(one).display.startsWith("inline")) return false;
    const block = one.closest("p, li, td, th, dd, dt, figcaption, caption, h1, h2, h3, span.words, label, legend");
    const walk = block && document.createTreeWalker(block, NodeFilter.SHOW_TEXT);
    let words = "";
    while (walk?.nextNode())
      if (!walk.currentNode.parentElement.closest("a, button, .unseen")) words += walk.currentNode.data;
    return /\\p{L}{2}/u.test(words);
  };
  const large = box => box.width >= least - slack && box.height >= least - slack;
  const all = [...document.querySelectorAll(
    "a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button]")]
    .filter(one => seen(one) && !hidden(one)).map(one => ({ one, box: boxOf(one) }));
  const elsewhere = new Set(all.filter(({ one, box }) => one.href && large(box)).map(({ one }) => one.href));
  return all.filter(({ one, box }) => !large(box) && !inSentence(one) && !elsewhere.has(one.href))
    .map(({ one, box }) => `${Math.round(box.width)} x ${Math.round(box.height)}: <${one.localName} class="${
      one.getAttribute("class") || ""}" in ${one.parentElement.localName}.${one.parentElement.className}> ${
      one.textContent.trim().replace(/\\s+/g, " ").slice(0, 40) || one.getAttribute("aria-label") || one.name || ""}`);
}"""

SMALL_LETTERS = """least => [...document.querySelectorAll("svg text")]
  .filter(one => one.textContent.trim() && one.checkVisibility({ visibilityProperty: true }) && one.getClientRects().length)
  .map(one => {
    const { a, b, c, d } = one.getScreenCTM();
    return { one, high: parseFloat(getComputedStyle(one).fontSize) * Math.sqrt(Math.abs(a * d - b * c)) };
  })
  .filter(({ high }) => high < least - 0.01)
  .map(({ one, high }) => `${high.toFixed(1)} px: ${one.closest("svg").getAttribute("class")} <text class="${
    one.getAttribute("class") || ""}"> ${one.textContent.trim().slice(0, 20)}`)"""


def small_targets(page) -> list[str]:
    """Name what one taps on the page and would miss, wherever it is not left out by WCAG 2.5.5."""
    return page.evaluate(SMALL_TARGETS, LEAST_TARGET)


def small_letters(page) -> list[str]:
    """Name the words in drawings that are lower than an eye needs, as large as they are shown."""
    return page.evaluate(SMALL_LETTERS, LEAST_LETTERS)
