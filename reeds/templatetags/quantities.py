"""How a number with its doubt and a finding are put on a page."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Protocol

from django import forms, template
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reeds.checks.experiments import Blade, Side, Zone
from reeds.checks.findings import Finding
from reeds.numbers.measured import Measured
from reeds.numbers.quantity import Quantity
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import PLAYING_TEST, Effort, Speaks
from reeds.wording import choices_of, filled, in_words, notes_in_words, unit_of
from studio.numerals import for_eyes, with_minus

register = template.Library()

SPEAKS, BLOWS = dict(choices_of(Speaks)), dict(choices_of(Effort))
WORK = "<strong>{}</strong>"
STROKES = '<strong>{}</strong> <span class="quiet">{}</span>'


class Noted(Protocol):
    """What a row of a reed's numbers is shown by: a number, or a word, of a quantity."""

    word: str

    @property
    def measured(self) -> Measured | None: ...
    @property
    def of(self) -> Quantity: ...


class Rated(Protocol):
    """How one item of a playing test is told: either may be left out."""

    @property
    def speaks(self) -> int | None: ...
    @property
    def effort(self) -> int | None: ...


class Worked(Protocol):
    """What is told of an event that took something off."""

    @property
    def clip(self) -> Measured | None: ...
    @property
    def strokes(self) -> int | None: ...
    @property
    def side(self) -> str: ...
    @property
    def blade(self) -> str: ...
    @property
    def zone(self) -> str: ...


@register.filter
def about(finding: Finding) -> str:
    """Return the name of the quantity a finding is about, as it was called when it was found."""
    return (
        _(str(finding.params["name"])) if "name" in finding.params else _(QUANTITIES[finding.quantity].name)
    )


@register.filter
def played(item: str) -> str:
    """Return the name of an item of the playing test: {{ 'crow'|played }}."""
    return _(PLAYING_TEST.get(item, item))


@register.filter
def with_doubt(measured: Measured | None, key: str) -> str:
    """Return a number with its doubt (k = 1) and unit: {{ m|with_doubt:'tie_length' }}."""
    if measured is None:
        return ""
    quantity = QUANTITIES[key]
    return f"{in_words(measured, quantity.decimals)} {unit_of(quantity)}".strip()


@register.filter
def noted(row: Noted) -> str:
    """Return what was noted: the number with its doubt and unit, or the word that was seen."""
    return noted_of(row.of, row.measured, row.word)


def noted_of(quantity: Quantity, measured: Measured | None, word: str) -> str:
    """Return the same where a row does not carry what it is a reading of."""
    if measured is None:
        return choice_named(quantity, word)
    return f"{in_words(measured, quantity.decimals)} {unit_of(quantity)}".strip()


@register.filter
def rated(rating: Rated) -> str:
    """Return how one item of a playing test was rated."""
    speaks = "" if rating.speaks is None else str(SPEAKS[rating.speaks])
    if not rating.effort:
        return speaks
    blows = _("to blow: %(effort)s") % {"effort": BLOWS[rating.effort]}
    return f"{speaks}; {blows}" if rating.speaks else blows


@register.filter
def work(row: Worked) -> SafeString:
    """Return what was taken off a reed: a clip, or strokes and where."""
    if row.clip is not None:
        return format_html(WORK, _("Clipped %(mm)s") % {"mm": with_doubt(row.clip, "clipped")})
    n = row.strokes or 0
    side, blade, zone = (
        _(words(word).label) if word else ""
        for words, word in ((Side, row.side), (Blade, row.blade), (Zone, row.zone))
    )
    told = ngettext("%(n)s stroke %(side)s", "%(n)s strokes %(side)s", n) % {"n": n, "side": side}
    return format_html(STROKES, told, f"{blade}, {zone}")


@register.filter
def sentence(finding: Finding) -> str:
    """Return a finding's reason in the reader's language."""
    return filled(finding.message, finding.params)


@register.filter
def step(finding: Finding) -> str:
    """Return a finding's usual next step in the reader's language."""
    return filled(finding.next_step, finding.params)


@register.filter
def caution(finding: Finding) -> str:
    """Return the caution that goes with the step."""
    return filled(finding.caution, finding.params)


@register.filter
def worded(marked: str) -> str:
    """Return a marked word or sentence of the pure packages in the reader's language."""
    return _(marked) if marked else ""


@register.filter
def notes_called(names: str | Iterable[str]) -> str:
    """Return a note, or several, as the reader calls them: {{ item.notes|notes_called }}."""
    return notes_in_words([names] if isinstance(names, str) else names)


@register.filter
def choice_named(quantity: Quantity, choice: str) -> str:
    """Return what was seen, in words: {{ row.of|choice_named:'together' }}."""
    return _(dict(quantity.choices).get(choice, choice))


register.filter(with_minus)


@register.filter
def signed(value: float) -> str:
    """Return a number with its sign, as an offset is shown."""
    return f"{'+' if value > 0 else ''}{short(value)}"


@register.filter
def short(value: float | None) -> str:
    """Return a limit as it is written on a sheet: no decimal that says nothing, a dash for none."""
    if value is None:
        return "–"
    return for_eyes(int(value) if float(value).is_integer() else value)


@register.filter
def lasting(span: dt.timedelta) -> str:
    """Return a rest as people say it: hours up to two days, days up to four weeks, then weeks."""
    hours = int(span.total_seconds() // 3600)
    if hours < 48:
        return ngettext("%d hour", "%d hours", hours) % hours
    if span.days < 28:
        return ngettext("%d day", "%d days", span.days) % span.days
    return ngettext("%d week", "%d weeks", span.days // 7) % (span.days // 7)


@register.filter
def made(moment: dt.datetime) -> str:
    """Say on which day something was made."""
    return _("made %(day)s") % {"day": date_format(timezone.localtime(moment), "DATE_FORMAT")}


@register.filter
def field(form: forms.BaseForm, key: str) -> forms.BoundField:
    """Return a form's field by a name that only the registry knows."""
    return form[key]


@register.filter
def method_field(form: forms.BaseForm, key: str) -> forms.BoundField | str:
    """Return the field that says how a quantity was measured, or nothing for a thing seen."""
    name = f"{key}-method"
    return form[name] if name in form.fields else ""
