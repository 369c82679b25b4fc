"""Reads a number as people type it, and asks back in one sentence where it cannot be right."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from reeds.numbers.words import Refused
from reeds.numbers.words import gettext_noop as _

EMPTY = _("Type a number for %(name)s.")
NOT_A_NUMBER = _("“%(typed)s” is not a number. Type digits only, for example %(example)s.")
SEVERAL = _("“%(typed)s” holds several numbers. Type one number for %(name)s.")
THOUSANDS = _("“%(typed)s” looks like a number with thousands marks. Type it without them.")
OTHER_UNIT = _("“%(typed)s” is not in %(unit)s. Type %(name)s in %(unit)s.")
OTHER_UNIT_NEAR = _("“%(typed)s” is not in %(unit)s. Did you mean %(suggestion)s?")
NOT_POSITIVE = _("%(typed)s cannot be right: %(name)s is more than zero.")
NEGATIVE = _("%(typed)s cannot be right: %(name)s is never less than zero.")
DID_YOU_MEAN = _("%(typed)s cannot be right for %(name)s. Did you mean %(suggestion)s?")
OUT_OF_BOUNDS = _("%(typed)s cannot be right for %(name)s: it lies between %(low)s and %(high)s.")
OUT_OF_BOUNDS_MM = _(
    "%(typed)s cannot be right for %(name)s: it lies between %(low)s and %(high)s. Millimetres are wanted."
)

_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)")
_THOUSANDS = re.compile(r"[+-]?\d{1,3}(?:(?P<mark>[.,' ’])\d{3})(?:(?P=mark)\d{3})*(?:[.,]\d+)?")
_STRANGE = re.compile(r"\s*(cm|m|in|inch|inches|zoll|\"|''|″|”|thou|mil|mm|mg|kg|g|°|hz|%)\.?$")
# one of the unit typed is so many of the unit wanted; inches and the like are never guessed
_NEAR_UNITS = {("cm", "mm"): 10.0}
_SLIPS = (10.0, 0.1, 100.0, 0.01, 1000.0, 0.001)


class NumberQuestion(Refused):
    """A typed number that is not taken, with the sentence that asks back."""

    @property
    def suggestion(self) -> float | None:
        """The number that was probably meant, in the wanted unit; never taken without asking."""
        meant = self.params.get("suggestion")
        return meant if isinstance(meant, float) else None


def _tidy(text: str) -> str:
    """Full-width digits, typographic minus and no-break spaces become their plain forms."""
    plain = unicodedata.normalize("NFKC", text.replace("mm²", "mm2")).replace("−", "-").replace("–", "-")
    return re.sub(r"\s+", " ", plain).strip()


def _without_unit(text: str, spellings: Iterable[str]) -> str:
    lowered = text.lower()
    for suffix in sorted(spellings, key=len, reverse=True):
        if suffix and lowered.endswith(_tidy(suffix).lower()):
            return text[: -len(_tidy(suffix))].strip()
    return text


def _near(value: float, low: float, high: float) -> float | None:
    """The one power of ten that would make the value plausible: a slipped decimal point."""
    for factor in _SLIPS:
        slipped = round(value * factor, 6)
        if low <= slipped <= high and slipped != 0:
            return slipped
    return None


def _refuse_shape(plain: str, params: dict[str, object]) -> None:
    """Raise the question that fits a text which is no single number."""
    if not plain:
        raise NumberQuestion(EMPTY, **params)
    if _THOUSANDS.fullmatch(plain):
        raise NumberQuestion(THOUSANDS, **params)
    if len(re.findall(r"\d+(?:[.,]\d+)?", plain)) > 1:
        raise NumberQuestion(SEVERAL, **params)
    raise NumberQuestion(NOT_A_NUMBER, **params)


def _refuse_unit(plain: str, unit: str, params: dict[str, object], bounds: tuple[float, float]) -> None:
    """Raise a question if a foreign unit follows the number; only centimetres are near enough to suggest."""
    found = _STRANGE.search(plain.lower())
    body = plain[: found.start()].strip() if found else ""
    if found is None or not _NUMBER.fullmatch(body):
        return
    factor = _NEAR_UNITS.get((found[1], unit))
    meant = round(float(body.replace(",", ".")) * factor, 6) if factor else None
    if meant is not None and bounds[0] <= meant <= bounds[1]:
        raise NumberQuestion(OTHER_UNIT_NEAR, **params, suggestion=meant)
    raise NumberQuestion(OTHER_UNIT if unit else NOT_A_NUMBER, **params)


def _refuse_size(value: float, unit: str, params: dict[str, object], bounds: tuple[float, float]) -> None:
    """Raise a question if the value lies outside what is plausible."""
    low, high = bounds
    if low <= value <= high:
        return
    if value <= 0 < low:
        raise NumberQuestion(NOT_POSITIVE, **params)
    if value < 0 <= low:
        raise NumberQuestion(NEGATIVE, **params)
    near = _near(value, low, high) if low > 0 else None
    if near is not None:
        raise NumberQuestion(DID_YOU_MEAN, **params, suggestion=near)
    raise NumberQuestion(OUT_OF_BOUNDS_MM if unit == "mm" else OUT_OF_BOUNDS, **params)


def read_number(
    text: str, *, name: str, unit: str, low: float, high: float, spellings: Iterable[str] = ()
) -> float:
    """Read one number as people type it: '72,5', ' 72.5 mm' and '72.5' are the same.

    Parameters
    ----------
    text : str
        As typed. One separator is the decimal one, whether point or comma.
    name, unit : str
        The marked name of what is typed, for the sentence that asks back, and its unit, '' for none.
    low, high : float
        What is plausible, in the unit.
    spellings : iterable of str
        How else the unit may be written after the number.

    Returns
    -------
    float
        In the unit, within [low, high].

    Raises
    ------
    NumberQuestion
        With a marked sentence and, where one is near at hand, a suggestion; inches are never guessed.
    """
    tidy = _tidy(text)
    example = float(f"{(low + high) / 2:.3g}")
    params: dict[str, object] = {
        "typed": text.strip()[:40], "name": name, "unit": unit, "low": low, "high": high, "example": example
    }  # fmt: skip
    plain = _without_unit(tidy, (unit, *spellings))
    if not _NUMBER.fullmatch(plain):
        _refuse_unit(tidy, unit, params, (low, high))
        _refuse_shape(plain, params)
    value = float(plain.replace(",", "."))
    _refuse_size(value, unit, params, (low, high))
    return value
