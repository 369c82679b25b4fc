"""Counts what is said of photos as they should be, where nothing is to be said, and of the same ones damaged.

`python -m tests.accuracy.flaws [N]`: N pictures a condition (default 24): ray-traced ones, kept from
`tests.accuracy.raytraced` where that drew them, and drawn ones. The limits were set on the ray-traced ones.
Exit status 1 where more than one photo in fifty is asked for again, or a damage is seen less often than said.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Iterator

import cv2
import numpy as np
from PIL import Image, ImageOps

from reeds.photo.vision.quality import Flaw, flaws_of
from tests.accuracy import table
from tests.printed import card_picture
from tests.raytraced import lying, opening, pov
from tests.raytraced.lying import Conditions
from tests.simulator import other_drawing
from tests.simulator.opening import opening_photo
from tests.simulator.photo import Conditions as Drawn
from tests.simulator.photo import card_photo

Picture = Image.Image
AT_MOST = 0.02


def good(count: int) -> Iterator[tuple[str, Picture]]:
    """Yield photos as they should be, each with where it comes from."""
    lone = Conditions(card="none", beside="id1")
    for number in range(count):
        yield "ray-traced, on the card", _opened(lying.shot(1, "report", number).take()[0])
        yield "ray-traced, no card", _opened(lying.shot(45, "report", number, lone).take()[0])
        yield "ray-traced, an opening", _opened(opening.shot(30, "report", number).take()[0])
        rng = np.random.default_rng([17, number])
        cond = Drawn(megapixels=(2, 4), painter=other_drawing.paint, curve=2)
        yield (
            "drawn, on the card",
            _opened(card_photo(rng, card_picture(), (148, 105), (36, 52.5), cond).jpeg()),
        )
        yield "drawn, an opening", Image.fromarray(opening_photo(rng).rgb)


def _opened(data: bytes) -> Picture:
    return Image.open(io.BytesIO(data)).convert("RGB")


def blurred(picture: Picture, share: float) -> Picture:
    """Return it blurred by a Gaussian of so great a share of the diagonal."""
    return Image.fromarray(
        cv2.GaussianBlur(np.asarray(picture), (0, 0), share * float(np.hypot(*picture.size)))
    )


# what is done to a photo, what must be said then, of how many at least (None: it is only told), whether it
# takes the card
DAMAGES: dict[str, tuple[Callable[[Picture], Picture], Flaw, float | None, bool]] = {
    "blurred by 0.2 % of the diagonal": (lambda one: blurred(one, 0.002), Flaw.BLURRED, None, False),
    "blurred by 0.3 % of the diagonal": (lambda one: blurred(one, 0.003), Flaw.BLURRED, 0.9, False),
    "blurred by 0.5 % of the diagonal": (lambda one: blurred(one, 0.005), Flaw.BLURRED, 1.0, False),
    "a seventh as bright": (lambda one: one.point(lambda grey: grey * 0.15), Flaw.DARK, 0.95, False),
    "mirrored": (ImageOps.mirror, Flaw.MIRRORED, 0.95, True),
}


def told(name: str, hits: list[bool], met: bool | None) -> bool:
    """Print and keep one line; return whether its bound, if it has one, is met."""
    reached = f"{sum(hits)} of {len(hits)}"
    verdict = {True: "met", False: "NOT MET", None: "reported"}[met]
    sys.stdout.write(f"{name:<64}{reached:>12}  {verdict}\n")
    sys.stdout.flush()
    table.keep("flaws", {"condition": name, "met": met, "reached": reached, "n": len(hits)})
    return met is not False


def flaws(rgb):
    return flaws_of(cv2.cvtColor(np.ascontiguousarray(rgb), cv2.COLOR_RGB2GRAY))


def main(*words: str) -> int:
    """Print the table, keep it, and return 1 where a bound is not kept."""
    if not pov.installed():
        sys.stdout.write(pov.MISSING + "\n")
        return 1
    photos = list(good(next((int(word) for word in words if word.isdigit()), 24)))
    fine = True
    for source in dict.fromkeys(name for name, _ in photos):
        asked = [bool(flaws(one)) for name, one in photos if name == source]
        fine &= told(f"asked for again though right: {source}", asked, bool(np.mean(asked) <= AT_MOST))
    for name, (damage, flaw, least, on_card) in DAMAGES.items():
        some = [one for source, one in photos if not on_card or "on the card" in source]
        seen = [flaw in flaws(damage(one)) for one in some]
        fine &= told(f"said of a photo {name}", seen, None if least is None else bool(np.mean(seen) >= least))
    return 0 if fine else 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
