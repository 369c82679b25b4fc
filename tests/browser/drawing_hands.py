"""Hands that draw on a photo: by mouse, by touch, by keyboard."""

from playwright.sync_api import expect

from lessons.answering.models import Mark

# of the stage, well within the photo
PLACES = [(0.35, 0.4), (0.5, 0.35), (0.62, 0.5), (0.5, 0.62)]


def places(page, of=PLACES):
    """Return where those parts of the stage are on the screen."""
    box = page.locator("[data-stage]").bounding_box()
    return [(box["x"] + x * box["width"], box["y"] + y * box["height"]) for x, y in of]


def fractions(page, at):
    """Return what fraction of the photo lies there."""
    box = page.locator("[data-stage] .leaf").bounding_box()
    return (at[0] - box["x"]) / box["width"], (at[1] - box["y"]) / box["height"]


def track(kind):
    return {"point": PLACES[:1], "line": PLACES[:2], "arrow": PLACES[:2], "scale": PLACES[:2]}.get(
        kind, PLACES
    )


def pick(page, kind):
    page.locator(f"[data-tool={kind}]").click()


def by_mouse(page, kind, of=None):
    pick(page, kind)
    first, *others = places(page, of or track(kind))
    page.mouse.move(*first)
    page.mouse.down()
    for place in others:
        page.mouse.move(*place, steps=4)
    page.mouse.up()


def by_touch(page, kind):
    pick(page, kind)
    cdp = page.context.new_cdp_session(page)

    def touch(name, *points):
        cdp.send(
            "Input.dispatchTouchEvent", {"type": name, "touchPoints": [{"x": x, "y": y} for x, y in points]}
        )

    first, *others = places(page, track(kind))
    touch("touchStart", first)
    last = first
    for place in others:
        for part in (0.25, 0.5, 0.75, 1):
            touch("touchMove", (last[0] + (place[0] - last[0]) * part, last[1] + (place[1] - last[1]) * part))
        last = place
    touch("touchEnd")


def an_answer_by_keyboard(page):
    """Mark the photo and write the answer, up to where its draft is kept."""
    by_keyboard(page, "arrow")
    page.keyboard.type("too thick here")
    page.keyboard.press("Enter")
    page.keyboard.press("y")
    page.keyboard.type("Good so far.")
    page.get_by_label("work on it").press("Space")
    expect(page.locator("[data-kept]")).to_contain_text("Draft kept")


def by_keyboard(page, kind):
    page.locator("main").press(
        {"point": "p", "line": "l", "arrow": "a", "outline": "o", "freehand": "f"}[kind]
    )
    page.keyboard.press("Enter")
    for key in {"point": [], "line": ["ArrowRight"], "arrow": ["ArrowUp"]}.get(
        kind, ["ArrowRight", "ArrowUp"]
    ):
        for _step in range(4):
            page.keyboard.press(key)
        page.keyboard.press("Enter")
    if kind in ("outline", "freehand"):
        page.keyboard.press("Enter")  # twice on one place ends it


def kept(page, count=1):
    expect(page.locator("[data-saving]")).to_have_text("Marks kept.")
    assert Mark.objects.count() == count
    return list(Mark.objects.all())


def write(page, words, number=1):
    page.locator("[data-note-words]").nth(number - 1).fill(words)
    page.locator("[data-note-words]").nth(number - 1).press("Enter")
