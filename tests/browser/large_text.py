"""A page in letters twice as large on the narrowest phone: what is too wide, cut off, or covered there."""

from __future__ import annotations

from playwright.sync_api import Error

WIDTH, HEIGHT = 320, 640

# what stands out of the window, unless it lies in something that is pushed sideways by itself; and of what
# one taps or types in, what lies over another such thing
JUDGED = """width => {
  const root = document.documentElement, wrong = [];
  const name = one => `<${one.localName} class="${one.getAttribute("class") || ""}"> ` +
    one.textContent.trim().replace(/\\s+/g, " ").slice(0, 40);
  const scrolls = one => {
    for (let up = one.parentElement; up && up !== document.body; up = up.parentElement)
      if (getComputedStyle(up).overflowX !== "visible") return true;
    return false;
  };
  const unseen = one => one.closest(".unseen, .skip, [inert]") || getComputedStyle(one).clipPath !== "none";
  if (root.scrollWidth > width) {
    wrong.push(`${root.scrollWidth} wide`);
    const line = document.createRange();
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) {
      const word = walk.currentNode, one = word.parentElement;
      line.selectNodeContents(word);
      if ([...line.getClientRects()].some(({ right }) => right > width + 1) && !unseen(one) && !scrolls(one))
        wrong.push(`too wide a word: ${name(one)}`);
    }
    for (const one of document.body.querySelectorAll("*")) {
      const { right, width: wide } = one.getBoundingClientRect();
      if (wide && right > width + 1 && !unseen(one) && !scrolls(one)) wrong.push(`too wide: ${name(one)}`);
    }
  }
  const main = document.querySelector("main");
  const judged = "a, button, input, select, textarea, summary, legend, label, dt, dd";
  const seen = [...main.querySelectorAll(judged)]
    .filter(one => one.checkVisibility({ visibilityProperty: true }) && !unseen(one) && !scrolls(one));
  const parts = seen.flatMap(one => [...one.getClientRects()].map(box => ({ one, box })));
  parts.sort((a, b) => a.box.top - b.box.top);
  const most = 2;
  parts.forEach((a, place) => {
    for (const b of parts.slice(place + 1)) {
      if (b.box.top >= a.box.bottom - most) break;
      const across = Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left);
      const within = a.one.contains(b.one) || b.one.contains(a.one);
      if (!within && across > most) wrong.push(`covered: ${name(a.one)} by ${name(b.one)}`);
    }
  });
  for (const one of seen)
    if (one.matches("button, .button, a") && one.scrollWidth > one.clientWidth + 1 && one.clientWidth)
      wrong.push(`cut: ${name(one)}`);
  return wrong;
}"""


IN_LARGE_LETTERS = f"""width => {{
  document.documentElement.style.fontSize = "200%";
  const wrong = ({JUDGED})(width);
  document.documentElement.style.fontSize = "";
  return wrong;
}}"""
TRIES = 3  # a page that waits for the worker opens itself anew once that is done, in the midst of it


def troubles_in_large_text(page) -> list[str]:
    """Say what is wrong with the page in large letters, and leave it as it was."""
    before = page.viewport_size
    page.set_viewport_size({"width": WIDTH, "height": HEIGHT})
    try:
        return evaluated(page, IN_LARGE_LETTERS, WIDTH)
    finally:
        page.set_viewport_size(before)


def evaluated(page, script: str, argument: int, tries: int = TRIES) -> list[str]:
    """Have the page say what is wrong with it; one that opens itself anew meanwhile is asked once more."""
    try:
        return page.evaluate(script, argument)
    except Error as error:
        if tries == 1 or "context was destroyed" not in error.message:
            raise
    page.wait_for_load_state()
    return evaluated(page, script, argument, tries - 1)
