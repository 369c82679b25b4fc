"""What a comparison comes to, in plain words: what can be said, and what cannot."""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from statistics import NormalDist

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from lessons.comparison.inference.compared import ALPHA, FEWEST_TELLING, Contrast, Measure, Verdict
from lessons.comparison.inference.enough import MOST, POWER, Leaning, Paired, Shares, Shifted, World, enough
from lessons.comparison.inference.shares import Effect
from lessons.comparison.pages.gathered import PAIRS_MATTER, Asked
from reeds.numbers.words import gettext_noop

# more often than that, how often it would be says nothing
OFTEN = 0.5
GO_TOGETHER = gettext_noop("They go together.")
CAUSES = gettext_noop("It makes a difference.")


@dataclass(frozen=True)
class Said:
    """One answer in sentences: the one that counts, by how much, and how sure that is."""

    lead: str
    effects: list[str]
    besides: list[str]


def said(it: Asked, p: float, questions: int, differs: str = GO_TOGETHER) -> Said:
    """Return the sentences of one answer.

    p           its p beside the other questions
    questions   how many were asked
    differs     what is said where there is a difference: only lots that were drawn may name it the cause
    """
    verdict = it.verdict(p)
    if verdict is Verdict.TOO_FEW:
        return Said(_too_few(it), [], list(_more(it, questions)))
    lead = {
        Verdict.DIFFERS: _(differs),
        Verdict.ALIKE: _("No difference that would matter."),
        Verdict.OPEN: _("It cannot be told yet."),
    }[verdict]
    effects = [effect_words(it, contrast) for contrast in it.compared.contrasts]
    more = _more(it, questions) if verdict is Verdict.OPEN else []
    return Said(lead, effects, [chance(it, p, questions), *more])


def _too_few(it: Asked) -> str:
    places = {"telling": it.compared.telling, "known": it.compared.known, "fewest": FEWEST_TELLING}
    words = _(
        "Not enough reeds yet: of the %(known)d reeds of which both are known, %(telling)d have one beside "
        "them that differs, %(among)s. It takes at least %(fewest)d."
    )
    return words % {**places, "among": it.among}


def effect_words(it: Asked, contrast: Contrast) -> str:
    """Return one effect with its interval as a sentence."""
    if it.compared.is_of_amounts:
        return _in_pairs(it.factor.more, it, contrast)
    if it.compared.measure is Measure.PAIRS:
        towards = _turned(contrast)
        return _in_pairs(_("with ‘%s’") % towards.level, it, towards)
    return _apart(it, contrast)


def _turned(contrast: Contrast) -> Contrast:
    """Return a contrast of two groups told from the one that came out better."""
    effect = contrast.effect
    if not contrast.against or effect.value >= Measure.PAIRS.nothing:
        return contrast
    return Contrast(
        contrast.against, contrast.level, Effect(1 - effect.value, 1 - effect.high, 1 - effect.low)
    )


def _in_pairs(which: str, it: Asked, contrast: Contrast) -> str:
    words = _(
        "Of 100 pairs of reeds %(among)s that did not come out alike, in %(value)s the one %(which)s "
        "%(better)s (%(low)s to %(high)s); 50 would be no difference."
    )
    effect = contrast.effect
    shares = {"value": effect.value, "low": effect.low, "high": effect.high}
    numbers = {name: number_format(round(100 * share)) for name, share in shares.items()}
    return words % {**numbers, "among": it.among, "which": which, "better": it.outcome.better}


def _apart(it: Asked, contrast: Contrast) -> str:
    """Return a difference; between two groups told so that it is more, not less."""
    effect, one, other = contrast.effect, contrast.level, contrast.against
    if other and effect.value < 0:
        one, other, effect = other, one, Effect(-effect.value, -effect.high, -effect.low)
    if it.compared.measure is Measure.SHARES:
        words = _("Of 100 reeds with %(one)s %(value)s %(did)s than with %(other)s (%(low)s to %(high)s).")
        scale, decimals = 100, 0
    else:
        words = _("With %(one)s it was %(value)s %(did)s than with %(other)s (%(low)s to %(high)s).")
        scale, decimals = 1, 1
    told = {"value": effect.value, "low": effect.low, "high": effect.high}
    numbers = {name: _more_or_fewer(scale * number, decimals) for name, number in told.items()}
    named = {"one": _("‘%s’") % one, "other": _("‘%s’") % other if other else _("all others")}
    return words % {**numbers, **named, "did": it.outcome.did}


def _more_or_fewer(number: float, decimals: int) -> str:
    """Return '12 more', '3 fewer' or 'no more'."""
    rounded = round(number, decimals)
    if not rounded:
        return _("no more")
    words = _("%s more") if rounded > 0 else _("%s fewer")
    return words % number_format(abs(rounded), decimals)


def chance(it: Asked, p: float, questions: int) -> str:
    """Return how often chance alone would look like this, the other questions counted."""
    if p > OFTEN:
        words = _("Chance alone would often do as much")
    else:
        words = _("Chance alone would do as much in %s of 1000 such comparisons") % max(1, round(1000 * p))
    counted = _(", all %d questions counted") % questions if questions > 1 else ""
    places = {"telling": it.compared.telling, "known": it.compared.known}
    tell = _("Of the %(known)d reeds of which both are known, %(telling)d tell something.") % places
    return f"{words}{counted}. {tell}"


def _more(it: Asked, questions: int) -> Iterator[str]:
    """Yield how many reeds it would take to see what would matter."""
    wanted, size = _wanted(it, ALPHA / questions), _size(it)
    if wanted is None:
        yield _("Even 600 reeds would hardly show %s: this is better left open.") % size
    elif wanted <= it.compared.telling:
        yield (
            _("Among so many reeds %s would be seen four times in five: if there is any, it is less.") % size
        )
    else:
        words = _(
            "About %(missing)s more reeds, half of either kind and spread over the students, would show "
            "%(size)s four times in five."
        )
        yield words % {"missing": number_format(wanted - it.compared.telling), "size": size}


def _wanted(it: Asked, alpha: float) -> int | None:
    """Return how many reeds would show what matters; where groups are uneven, as its intervals ask for."""
    even = enough(_world(it), it.compared.strata, alpha)
    if even is None or not it.compared.contrasts:
        return even
    law = NormalDist()
    halves = [(one.effect.high - one.effect.low) / 2 for one in it.compared.contrasts]
    room = max(halves) / law.inv_cdf(1 - ALPHA / 2 / len(halves))
    needed = (
        it.compared.telling * ((law.inv_cdf(1 - alpha / 2) + law.inv_cdf(POWER)) * room / it.matters) ** 2
    )
    wanted = max(even, math.ceil(needed))
    return wanted if wanted <= MOST else None


def _size(it: Asked) -> str:
    matters = it.matters
    if it.compared.measure is Measure.SHARES:
        return _("a difference of %s in 100") % number_format(round(100 * matters))
    if it.compared.measure is Measure.SHIFT:
        return _("a difference of %s days") % number_format(round(matters))
    return _("a difference seen in 70 of 100 pairs")


def _world(it: Asked) -> World:
    """Return what is simulated: a difference that would matter, among reeds like these."""
    outcomes = [case.outcome for case in it.cases]
    base = statistics.fmean(outcomes) if outcomes else 0.5
    if it.compared.measure is Measure.SHARES:
        return Shares(base, it.matters)
    if it.compared.measure is Measure.SHIFT:
        return Shifted(it.matters / (_spread_within(it) or it.matters))
    if it.outcome.measure is Measure.SHARES:
        return Leaning(base, 0.5 + PAIRS_MATTER)
    return Paired(0.5 + PAIRS_MATTER)


def _spread_within(it: Asked) -> float:
    """Return the standard deviation of the outcomes within strata; 0 where nothing is known of it."""
    by_stratum: dict[tuple[int, ...], list[float]] = defaultdict(list)
    for case in it.cases:
        by_stratum[case.stratum].append(case.outcome)
    known = [values for values in by_stratum.values() if len(values) > 1]
    freedom = sum(len(values) - 1 for values in known)
    squares = sum(statistics.variance(values) * (len(values) - 1) for values in known)
    return float((squares / freedom) ** 0.5) if freedom else 0.0
