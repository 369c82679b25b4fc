"""How a figure of the term is put into words: never without its n."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from django import template
from django.utils.translation import gettext as _

from lessons.term.lookback.about_findings import called
from lessons.term.lookback.apart import Apart
from lessons.term.lookback.interval import Interval
from lessons.term.lookback.lasting import Lasting, LastingStep
from lessons.term.lookback.middle import Middle
from lessons.term.lookback.moving import Moving
from lessons.term.lookback.questions import Page
from lessons.term.lookback.rates import Share
from lessons.term.lookback.sentence import Phrase
from lessons.term.lookback.trend import Trend
from lessons.term.wording import NAMES, in_words
from reeds.checks.findings import Outcome
from reeds.numbers.quantity import Known, Quantity
from reeds.numbers.words import PLAYING_TEST
from studio.numerals import for_eyes

register = template.Library()

DAYS_A_WEEK = 7


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
    quantity = known.get(found.about)
    about = quantity.name if quantity else NAMES.get(found.about, found.about)
    return f"{_(about)}: {_(Outcome(found.outcome).label)}"


@register.filter
def called_plainly(found: Kind, known: Known) -> str:
    """Return how people call what was found: 'Leaks'."""
    return in_words(called(found.about, found.outcome, Page(known, NAMES, runs=False)))


@register.filter
def median_of(moving: Moving, decimals: int) -> str:
    """Return '+0.30 (-0.1 to +0.6)' in the quantity's unit, signed where it is off an aim."""
    middle = moving.middle
    if middle.median is None:
        return _("none to count")
    told = _told(decimals, signed=moving.off_aim)
    if middle.interval is None:
        return _("%(median)s, too few for an interval") % {"median": told(middle.median)}
    return _with_interval(middle.median, middle.interval, told)


@register.filter
def days_of(middle: Middle) -> str:
    """Return a median of days with its interval and n: '1.5 (0.8 to 3.1), n = 12'."""
    if middle.median is None:
        return _("none to count")
    told = _told(1, signed=False)
    days = _with_interval(middle.median, middle.interval, told) if middle.interval else told(middle.median)
    return _("%(days)s, n = %(n)d") % {"days": days, "n": middle.n}


@register.filter
def median_life(it: Lasting) -> str:
    """Return after how many days half of the reeds have ended, as far as that can be told."""
    if it.median is None:
        seen = {"days": round(it.seen_until)}
        return _("More than half still played when last seen, the longest after %(days)d days.") % seen
    places = {"days": round(it.median), "low": round(it.low or 0), "high": round(it.high or 0)}
    if it.high is None:
        words = _("Half have ended after %(days)d days (at least %(low)d; at most cannot be told yet).")
    else:
        words = _("Half have ended after %(days)d days (%(low)d to %(high)d).")
    return words % places


@register.filter
def share_that_lasts(step: LastingStep) -> str:
    """Return '86 % (62 to 95)'."""
    parts = {"share": step.share, "low": step.interval.low, "high": step.interval.high}
    return _("%(share)d %% (%(low)d to %(high)d)") % {name: round(100 * it) for name, it in parts.items()}


@register.filter
def change_of(trend: Trend, decimals: int) -> str:
    """Return the change a week with its interval, and which way, if that is a change at all."""
    if trend.slope is None or trend.interval is None:
        return _("too few to tell")
    told = _told(decimals + 1, signed=True)
    week = _with_interval(trend.slope * DAYS_A_WEEK, trend.interval.times(DAYS_A_WEEK), told)
    if not trend.is_told:
        return week
    way = _("%(week)s rises") if trend.slope > 0 else _("%(week)s falls")
    return way % {"week": week}


@register.filter
def told_signed(value: float, quantity: Quantity) -> str:
    """Return a difference with its sign and as many decimals as its quantity has: '+0.3'."""
    return _told(quantity.decimals, signed=True)(value)


@register.filter
def bias_of(apart: Apart, decimals: int) -> str:
    """Return the mean difference with its interval."""
    if apart.bias is None or apart.bias_interval is None:
        return _("too few to tell")
    return _with_interval(apart.bias, apart.bias_interval, _told(decimals + 1, signed=True))


@register.filter
def limits_of(apart: Apart, decimals: int) -> str:
    """Return between which differences 95 in 100 lie, each end with its interval."""
    if apart.limits is None or apart.low_interval is None or apart.high_interval is None:
        return _("too few to tell")
    told = _told(decimals, signed=True)
    low = _with_interval(apart.limits.low, apart.low_interval, told)
    high = _with_interval(apart.limits.high, apart.high_interval, told)
    return _("%(low)s and %(high)s") % {"low": low, "high": high}


def _told(decimals: int, *, signed: bool) -> Callable[[float], str]:
    """Return how a number is told: with so many decimals, and its sign if it is a difference."""

    def told(value: float) -> str:
        rounded = round(value, decimals) or 0.0  # no minus before a nought
        return ("+" if signed and rounded > 0 else "") + for_eyes(rounded, decimals)

    return told


def _with_interval(value: float, interval: Interval, told: Callable[[float], str]) -> str:
    places = {"value": told(value), "low": told(interval.low), "high": told(interval.high)}
    return _("%(value)s (%(low)s to %(high)s)") % places


@register.filter
def as_sentence(phrase: Phrase) -> str:
    """Return what may be said of a term in the reader's words."""
    return in_words(phrase)


@register.filter
def said_plainly(message: str) -> str:
    """Return a marked word of the pure packages in the reader's language."""
    return _(message)
