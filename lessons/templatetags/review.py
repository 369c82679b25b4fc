"""What the review page says of findings and numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from django import template
from django.utils.functional import Promise
from django.utils.translation import gettext as _

from lessons.answering.annotation import Plane
from lessons.answering.pages.marked import plane_json
from lessons.sending import need
from reeds.checks.findings import Finding
from reeds.checks.next_steps import WAIT
from reeds.photo.models.photo import Photo
from reeds.reed.models.measurement import Measurement
from reeds.templatetags.quantities import noted, step
from reeds.wording import unit_of
from studio.templatetags.here import roughly

register = template.Library()


@register.filter
def acts(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings that speak of the reed, or of numbers that contradict each other."""
    return [one for one in findings if one.accuses]


@register.filter
def doubts(findings: Iterable[Finding]) -> list[Finding]:
    """Return the other findings that ask for something: a number to measure again, or to add."""
    rows = list(findings)
    return [one for one in rows if one not in acts(rows) and (one.needs_attention or one.next_step)]


@register.filter
def step_for_teacher(finding: Finding) -> str:
    """Return a finding's step as its teacher reads it: nobody is told to wait for oneself."""
    return _("The student waits for you.") if finding.next_step == WAIT else step(finding)


@register.filter
def first_sentence(text: str) -> str:
    """Return what is read at once of a cause."""
    return text.split(". ", 1)[0].rstrip(".") + "." if ". " in text else text


@register.filter
def after_it(text: str) -> str:
    """Return what follows its first sentence, '' for nothing."""
    return text.partition(". ")[2]


@register.filter
def calm(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings that ask for nothing."""
    return [one for one in findings if not (one.needs_attention or one.next_step)]


@register.filter
def reading(row: Measurement) -> str:
    """Return a stored number with its doubt (the table's row says its unit), or the word that was seen."""
    if row.measured is not None:
        return noted(row).removesuffix(unit_of(row.of)).strip()
    return noted(row)


@register.filter
def plane_in(photo: Photo, planes: Mapping[int, Plane]) -> str:
    """Return the photo's own scale for the page's script, '' where nobody measured it."""
    return plane_json(planes.get(photo.pk))


@register.simple_tag
def table_of_need() -> list[tuple[str | Promise, int]]:
    """Return what moves a reed up in the queue, and by how much."""
    return list(need.table())


# for sentences that say 'ago' themselves
register.filter(roughly)
