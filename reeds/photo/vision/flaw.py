"""What may be wrong with a photo, with what to do about it: found by `quality.py`, and on the phone."""

from __future__ import annotations

from reeds.numbers.words import Labelled
from reeds.numbers.words import gettext_noop as _


class Flaw(Labelled):
    """What may be wrong with a photo: its lasting word, and how a page names it."""

    DARK = "dark", _("too dark")
    BLURRED = "blurred", _("blurred")
    SMALL = "small", _("few pixels")
    MIRRORED = "mirrored", _("mirrored")
    CUT = "cut", _("the card is cut off")

    @property
    def advice(self) -> str:
        """What to do about it, a marked sentence."""
        return _ADVICE[self]


_ADVICE = {
    Flaw.DARK: _("It looks too dark. Take it again, in daylight or under a lamp?"),
    Flaw.BLURRED: _("It looks blurred. Tap on the reed to focus, hold still, and take it again?"),
    Flaw.SMALL: _("It has few pixels. Take it again, or send it as the camera took it?"),
    Flaw.MIRRORED: _("It is mirrored. Take it again with the camera on the back of the phone?"),
    Flaw.CUT: _("The card is cut off. Take it again so that all of it shows?"),
}
