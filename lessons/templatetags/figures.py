"""How a figure of the term is put into words: never without its n."""

from __future__ import annotations

from typing import Protocol

from django import template
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from lessons.term.lookback.rates import Share
from lessons.term.pictures import QuantityDrawn
from reeds.checks.findings import Outcome
from reeds.checks.registry import CHECKS
from reeds.numbers.quantity import Known
from reeds.numbers.words import PLAYING_TEST

register = template.Library()


class Kind(Protocol):
    """A kind of finding: what was looked at and how it came out."""

    @property
    def about(self) -> str: ...
    @property
    def outcome(self) -> str: ...


@register.filter
def as_share(share: Share) -> str:
    """Return '4 of 23, 17 % (7 to 37)'; where n is 0, that there were none."""
    if share.value is None:
        return _("none to count")
    places = {"count": share.count, "n": share.n, "percent": round(100 * share.value)}
    places |= {"low": round(100 * share.low), "high": round(100 * share.high)}
    return _("%(count)d of %(n)d: %(percent)d %% (%(low)d to %(high)d)") % places


@register.filter
def kind_of_finding(found: Kind, known: Known) -> str:
    """Return what was looked at and how it came out: 'tie length: above'."""
    if found.about in PLAYING_TEST and found.outcome == Outcome.BELOW:
        return _("%(item)s: late, seldom or not") % {"item": _(PLAYING_TEST[found.about])}
    names = PLAYING_TEST | {check.key: check.name for check in CHECKS}
    quantity = known.get(found.about)
    about = quantity.name if quantity else names.get(found.about, found.about)
    return f"{_(about)}: {_(Outcome(found.outcome).label)}"


@register.filter
def off_aim_words(row: QuantityDrawn) -> str:
    """Return where the middle half of the numbers lies beside the aim."""
    spread, decimals = row.off_aim, row.quantity.decimals

    def signed(value: float | None) -> str:
        rounded = round(value or 0.0, decimals)
        return ("+" if rounded > 0 else "") + number_format(rounded, decimals)

    words = _("Off the aim: median %(median)s %(unit)s, middle half %(lower)s to %(upper)s (n = %(n)d).")
    return words % {
        "median": signed(spread.median),
        "lower": signed(spread.lower),
        "upper": signed(spread.upper),
        "unit": row.quantity.unit,
        "n": spread.n,
    }


@register.filter
def said_plainly(message: str) -> str:
    """Return a marked word of the pure packages in the reader's language."""
    return _(message)
