"""What is typed between student and teacher."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext, pgettext_lazy

from lessons.sending.models import Submission, measured_on, photos_of, takes_of
from lessons.sending.typed import Round, Save, now_ms, times_told
from reeds.checks.facts import Reading
from reeds.checks.findings import Finding, Outcome, in_order, spread
from reeds.checks.mending import told
from reeds.numbers.measured import Measured, rounded
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import EFFORT, Method, Stage
from reeds.photo.models.photo import Photo
from reeds.reed.actions import Entry
from reeds.reed.facts import BareRows
from reeds.reed.findings import findings_of
from reeds.reed.forms.numbers import NumbersForm, PlayingForm, Read, usual_of
from reeds.reed.models.measurement import Measurement
from reeds.sheet.playing_items import PlayingItem
from reeds.take.pages.sounding import TakeInWords, beside_reference
from reeds.templatetags.findings import in_brief, tone
from studio.errors import NotPossible

MOST_TYPED = 60


@dataclass(frozen=True)
class Asked:
    """One quantity as the page asks for it: the field, the way of measuring beside it, what is said of it."""

    quantity: Quantity
    field: forms.BoundField | None
    method: forms.BoundField | None
    errors: list[str]
    finding: Finding | None
    photo: bool = False  # whether the teacher asks for a photo of it

    @property
    def said(self) -> str:
        """What stands under it: why it cannot be read, else what the checks say."""
        return self.errors[0] if self.errors else in_brief(self.finding) if self.finding else ""

    @property
    def tone(self) -> str:
        """How that looks, as a class of the page's."""
        return " said-error" if self.errors else f" said-{tone(self.finding)}" if self.finding else ""


@dataclass(frozen=True)
class Scale:
    """One row of short words to tap; for an item of the playing test also what was recorded of it."""

    name: str
    label: str
    value: str
    choices: list[tuple[str, str]]
    item: PlayingItem | None = None
    takes: list[TakeInWords] = field(default_factory=list)

    @property
    def rated(self) -> str:
        """How it was rated, in a word; '' where it was not."""
        return dict(self.choices)[self.value] if self.value in dict(self.choices) and self.value else ""


# short enough for a row of taps on a phone; the whole words are those of the models
SPEAKS: list[tuple[Any, Any]] = [
    ("", gettext_lazy("not played")),
    (1, pgettext_lazy("how it speaks", "not")),
    (2, gettext_lazy("seldom")),
    (3, pgettext_lazy("how it speaks", "late")),
    (4, gettext_lazy("mostly")),
    (5, gettext_lazy("at once")),
]
BLOWS: list[tuple[Any, Any]] = [
    ("", gettext_lazy("not tried")),
    (1, gettext_lazy("very easy")),
    (2, gettext_lazy("easy")),
    (3, pgettext_lazy("how it blows", "right")),
    (4, pgettext_lazy("how it blows", "hard")),
    (5, gettext_lazy("very hard")),
]


class DraftForms:
    """The forms of one draft, filled from the page or from what the server kept.

    Where no page shows them, only of what is said fields are made, to read it.
    """

    def __init__(
        self, submission: Submission, data: Mapping[str, Any] | None = None, *, shown: bool = True
    ) -> None:
        self.submission, self.shown = submission, shown
        self.posted: Mapping[str, Any] = {} if data is None else data
        reed = submission.reed
        self._rows = BareRows(reed)
        self.sheet, stage = self._rows.sheet, Stage(reed.stage)
        known = self.sheet.known
        self._asks = [*known.asked_at(stage, self.sheet.keys), *known.noted_at(stage, self.sheet.style)]
        self._usual = usual_of(self._asks)
        self.test = reed.version.test
        self._plays = ["effort", *(f"plays-{item.key}" for item in self.test)]

    @cached_property
    def numbers(self) -> NumbersForm:
        """The numbers: what is typed on the page, what was kept, what a photo or a recording told."""
        kept = {name: value for name, value in self._usual.items() if value is not None}
        everything = {**kept, **self.submission.draft, **self.typed_in(self._usual)}
        read = {row.quantity: _read_off(row) for row in self.measured if row.quantity in self._usual}
        filled = _filled(everything, read)
        asks = self._asks if self.shown else [one for one in self._asks if filled.get(one.key)]
        return NumbersForm(asks, filled, read=read)

    @cached_property
    def _played(self) -> dict[str, str]:
        """How it plays, as it is typed on the page or was kept."""
        return {**self.submission.draft, **self.typed_in(self._plays)}

    @cached_property
    def playing(self) -> PlayingForm:
        """How it plays, read: of the items those of which something is said."""
        said = {item.key: item.name for item in self.test if self._played.get(f"plays-{item.key}")}
        return PlayingForm(said, self._played)

    def typed_in(self, names: Iterable[str]) -> dict[str, str]:
        return {name: str(self.posted[name])[:MOST_TYPED] for name in names if name in self.posted}

    @property
    def question(self) -> str:
        return str(self.posted.get("question", self.submission.question))

    @property
    def save(self) -> Save:
        """What this page typed, as it was typed, without what it only shows where it says which is which."""
        told = times_told(self._posted("typed_at"), self._posted("clock"), now_ms())
        typed = self.typed_in([*self._usual, *self._plays])
        question = self.posted.get("question")
        if told is None:
            return Save(typed, None if question is None else str(question))
        here = {name: text for name, text in typed.items() if name in told}
        return Save(here, str(question) if "question" in told and question is not None else None, told)

    def _posted(self, name: str) -> str:
        return str(self.posted.get(name, ""))

    @property
    def plays(self) -> bool:
        """Whether the reed is at a stage at which it is played."""
        return self.submission.reed.is_played

    @property
    def asked(self) -> list[Asked]:
        """The numbers the page asks, in order, with what the checks say of each."""
        return [one for one in self._everything if not one.quantity.at_bench]

    @property
    def at_bench(self) -> list[Asked]:
        """What may be noted at the bench, in the order of work."""
        return [one for one in self._everything if one.quantity.at_bench]

    @property
    def noted_at_bench(self) -> int:
        """How much of that is noted already."""
        return sum(entry.quantity.at_bench for entry in self.entries)

    @cached_property
    def _everything(self) -> list[Asked]:
        entered = {entry.quantity.key for entry in self.entries} | {row.quantity for row in self.measured}
        own = self._found_of_each if entered else {}
        pictured = {row.quantity for row in self.sheet.limits if row.photo}
        return [
            Asked(
                quantity=quantity,
                field=self.numbers[quantity.key] if self.shown else None,
                method=self.numbers[f"{quantity.key}-method"] if self.shown and quantity.is_number else None,
                errors=[str(error) for error in self.numbers.errors.get(quantity.key, [])],
                finding=own.get(quantity.key) if quantity.key in entered else None,
                photo=quantity.key in pictured,
            )
            for quantity in self._asks
        ]

    @property
    def _found_of_each(self) -> dict[str, Finding]:
        """What is said under a number: first that it contradicts another, then what needs somebody most."""
        least_first = spread(self.findings)[::-1]
        found = sorted(least_first, key=lambda one: one.outcome is Outcome.CONTRADICTION)
        return {one.quantity: one for one in found if not one.also}

    @cached_property
    def plays_asked(self) -> list[Scale]:
        """The playing test, one row an item, each with how it speaks and what was recorded of it."""
        short = _in_words(SPEAKS)
        return [self._scale(f"plays-{item.key}", _(item.name), short, item) for item in self.test]

    @property
    def next_to_play(self) -> Scale | None:
        """The first item of which nothing is noted or recorded: it stands open, the others are folded."""
        return next((row for row in self.plays_asked if not (row.rated or row.takes)), None)

    @property
    def effort_asked(self) -> Scale:
        """How hard the reed is to blow, asked once."""
        return self._scale("effort", str(PlayingForm.base_fields["effort"].label), _in_words(BLOWS))

    def _scale(
        self, name: str, label: str, short: list[tuple[str, str]], item: PlayingItem | None = None
    ) -> Scale:
        takes = [one for one in self.takes if item and one.take.item == item.key]
        return Scale(name, label, str(self._played.get(name) or ""), short, item, takes)

    @cached_property
    def takes(self) -> list[TakeInWords]:
        """What was recorded for this round, of the reed and of the reference beside it."""
        return beside_reference(takes_of(self.submission), self.submission.student)

    @cached_property
    def photos(self) -> list[Photo]:
        """The photos that were added to this round."""
        photos = photos_of(self.submission)
        for photo in photos:
            photo.reed = self.submission.reed
        return photos

    @cached_property
    def measured(self) -> list[Measurement]:
        """What was measured already on the photos and recordings of this round; it goes along."""
        return measured_on(self.submission)

    @property
    def wrong(self) -> bool:
        """Whether something typed cannot be read, so that nothing is sent."""
        return bool(self.numbers.errors or self.playing.errors)

    @cached_property
    def in_short(self) -> str:
        """What the checks say in one line, for who hears it while they type; '' where they say nothing."""
        wrong, told = len(self.numbers.errors), self.told if self.says_something else []
        if not (wrong or told):
            return ""
        n = wrong + sum(one.needs_attention and one.outcome is not Outcome.MISSING for one in told)
        return (
            ngettext("%d thing to look at", "%d things to look at", n) % n if n else _("Nothing to look at")
        )

    @property
    def says_something(self) -> bool:
        """Whether there is anything yet that the checks could speak of."""
        return bool(self.entries or self.ratings or self.effort or self.measured or self.takes)

    @cached_property
    def entries(self) -> list[Entry]:
        self.numbers.is_valid()
        return self.numbers.entries()

    @cached_property
    def ratings(self) -> dict[str, int]:
        self.playing.is_valid()
        return self.playing.ratings()

    @property
    def effort(self) -> int | None:
        self.playing.is_valid()
        return self.playing.cleaned_data.get("effort")

    @classmethod
    def read(cls, submission: Submission) -> Round:
        """Return everything that a draft holds, checked; NotPossible if something typed cannot be read."""
        forms = cls(submission, shown=False)
        if not forms.numbers.is_valid() or not forms.playing.is_valid():
            raise NotPossible(
                _("It was not sent yet: something cannot be right. Nothing of the rest is lost.")
            )
        return Round(forms.entries, forms.ratings, forms.effort, forms.told)

    @cached_property
    def told(self) -> list[Finding]:
        """What of it is worth a sentence: what a tool cannot decide stands beside its field."""
        return told(self.findings, Stage(self.submission.reed.stage), self.sheet.known)

    @cached_property
    def findings(self) -> list[Finding]:
        """What the checks say of the reed with what is typed."""
        stage = Stage(self.submission.reed.stage)
        readings = [_reading(entry, stage, self._rows.doubts) for entry in self.entries]
        answers = self.ratings if self.effort is None else {**self.ratings, EFFORT: self.effort}
        return in_order(findings_of(self.submission.reed, readings, answers, self._rows))


def _in_words(choices: list[tuple[Any, Any]]) -> list[tuple[str, str]]:
    return [(str(value), str(label)) for value, label in choices]


def _read_off(row: Measurement) -> Read:
    shown, decimals = rounded(row.measured or Measured(0.0), row.of.decimals)
    return Read(number_format(shown.value, decimals), Method(row.method))


def _filled(typed: Mapping[str, str], read: Mapping[str, Read]) -> dict[str, str]:
    """Return what was typed, and where nothing was what a photo or a recording told, with how it did."""
    empty = {key: one for key, one in read.items() if not typed.get(key, "").strip()}
    told = {key: one.text for key, one in empty.items()}
    return {**typed, **told, **{f"{key}-method": one.method.value for key, one in empty.items()}}


def _reading(entry: Entry, stage: Stage, doubts: Mapping[Method, float]) -> Reading:
    u = entry.u if entry.u is not None else entry.quantity.default_u(entry.method, doubts) or 0.0
    return Reading(
        quantity=entry.quantity.key,
        measured=None if entry.value is None else Measured(entry.value, u),
        choice=entry.word,
        method=entry.method,
        moisture=entry.moisture,
        when=timezone.now(),
        stage=stage,
    )
