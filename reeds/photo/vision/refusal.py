"""The one way in which a photo is turned down: an error that carries a sentence saying what to do."""

from __future__ import annotations

from reeds.numbers.words import Refused


class PhotoRefused(Refused):
    """A photo from which no honest figure can be had."""
