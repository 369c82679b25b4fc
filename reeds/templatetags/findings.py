"""Sorts findings for a page: what to look at, what is as it should be, what nobody noted yet."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reeds.checks.findings import Finding, Outcome
from reeds.templatetags.quantities import about, sentence, short, step, worded
from reeds.wording import filled
from studio.markup import NOTHING

register = template.Library()

FINDING = '<div class="finding finding-{}">\n<p>{}</p>\n{}</div>\n'
STEP = "<p>{}</p>\n"
CAUTION = '<p class="caution">{}</p>\n'
PARTS = "<details>\n<summary>{}</summary>\n<ul>{}</ul>\n</details>\n"
RECKONED = '<details class="small">\n<summary>{}</summary>\n<p>{}</p>\n<ul>{}</ul>\n</details>\n'
DOUBTFUL = '<div class="finding finding-open">\n<p>{}</p>\n<ul>{}</ul>\n{}</div>\n'
LINE, CHANCE, WITH_STEP = "<li>{}</li>", "<li>{}: {} %</li>", "<li>{} {}</li>"


@register.filter
def tone(finding: Finding) -> str:
    """Return how a finding looks: a fault, to be looked at, open (nobody knows yet), or calm."""
    if finding.is_fault:
        return "fault"
    if finding.accuses:
        return "look"
    return "open" if finding.needs_attention else "calm"


@register.simple_tag
def in_full(finding: Finding) -> SafeString:
    """Return a finding with its step, with what comes of it and how it was reckoned: a page shows dozens."""
    looks, more = tone(finding), []
    if finding.next_step:
        also = [worded(words) for words in (finding.how, finding.then) if words]
        more.append(format_html(STEP, " ".join([step(finding), *also])))
    if finding.caution:
        more.append(format_html(CAUTION, filled(finding.caution, finding.params)))
    return format_html(
        FINDING,
        "look" if looks == "fault" else looks,
        sentence(finding),
        format_html_join("", "{}", ((one,) for one in (*more, parts(finding), reckoned(finding)))),
    )


@register.simple_tag
def parts(finding: Finding) -> SafeString:
    """Return what comes of a finding, folded under it; '' where nothing does."""
    if not finding.parts:
        return NOTHING
    n = len(finding.parts)
    told = ngettext("%(n)s more comes of it", "%(n)s more come of it", n) % {"n": n}
    return format_html(PARTS, told, format_html_join("", LINE, ((sentence(one),) for one in finding.parts)))


@register.simple_tag
def reckoned(findings: Finding | Iterable[Finding]) -> SafeString:
    """Return how what is too close to call was reckoned, folded under it; '' where nothing is."""
    close = close_calls(findings)
    if not close:
        return NOTHING
    told = _(
        "Each number carries the doubt of what it was measured with. How probable it is that the true one"
        " lies within the limits, where 95 % would do to say so:"
    )
    chances = format_html_join("", CHANCE, ((about(one), percent) for one, percent in close))
    return format_html(RECKONED, _("How this is reckoned"), told, chances)


@register.simple_tag
def together(findings: list[Finding]) -> SafeString:
    """Return what is too close to call as one thing to do: measure these again."""
    if not findings:
        return NOTHING
    n = len(findings)
    told = ngettext(
        "%(n)s number too close to call: measure it again, finer where you can.",
        "%(n)s numbers too close to call: measure them again, finer where you can.",
        n,
    )
    each = format_html_join("", WITH_STEP, ((sentence(one), step(one)) for one in findings))
    return format_html(DOUBTFUL, told % {"n": n}, each, reckoned(findings))


@register.filter
def in_brief(finding: Finding) -> str:
    """Return what stands under a number: the outcome with the limits it was held against, or the sentence."""
    label, between = _(finding.outcome.label), _limits(finding)
    if finding.outcome is Outcome.UNDECIDABLE:
        return label
    if not between:
        return filled(finding.message, finding.params)
    return _("%(outcome)s: the sheet has %(limits)s") % {"outcome": label, "limits": between}


def _limits(finding: Finding) -> str:
    """Return the limits of a finding with their unit, '' where it was held against none."""
    unit = worded(str(finding.params.get("unit", "")))
    low, high = (None if one is None else short(one) for one in (finding.low, finding.high))
    if low is None and high is None:
        return ""
    if low is None or high is None:
        words = _("at most %(limit)s") if low is None else _("at least %(limit)s")
        return f"{words % {'limit': high or low}} {unit}".strip()
    words = _("%(low)s to %(high)s")
    return f"{words % {'low': low, 'high': high}} {unit}".strip()


@dataclass
class Groups:
    """Findings in the order of a page."""

    look: list[Finding] = field(default_factory=list)
    remarks: list[Finding] = field(default_factory=list)
    within: list[Finding] = field(default_factory=list)
    missing: list[Finding] = field(default_factory=list)

    def of(self, finding: Finding) -> list[Finding]:
        """Return the list in which a finding is shown."""
        if finding.outcome is Outcome.MISSING:
            return self.missing
        if finding.needs_attention:
            return self.look
        return self.within if finding.outcome is Outcome.WITHIN and finding.quantity else self.remarks


@register.filter
def doubtful(findings: Iterable[Finding]) -> list[Finding]:
    """Return those too close to call, where they are several: told together, as one thing to do."""
    found = [one for one in findings if one.outcome is Outcome.TOO_CLOSE]
    return found if len(found) > 1 else []


@register.filter
def close_calls(findings: Finding | Iterable[Finding]) -> list[tuple[Finding, int]]:
    """Return those too close to call with the chance that the true number is within, per cent.

    Rounded down, so that what is not decided never reads as 95 %.
    """
    some = [findings] if isinstance(findings, Finding) else findings
    close = [one for one in some if one.outcome is Outcome.TOO_CLOSE and one.probability is not None]
    return [(one, math.floor(100 * (one.probability or 0.0))) for one in close]


@register.filter
def without(findings: Iterable[Finding], others: Iterable[Finding]) -> list[Finding]:
    """Return the findings that are not among the others."""
    told = list(others)
    return [one for one in findings if one not in told]


@register.filter
def grouped(findings: Iterable[Finding]) -> Groups:
    """Return findings in groups: {% with groups=findings|grouped %}."""
    groups = Groups()
    for finding in findings:
        groups.of(finding).append(finding)
    return groups
