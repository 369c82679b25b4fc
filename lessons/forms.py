"""What is typed between student and teacher."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.models import Answer, Submission
from reeds.actions import Entry
from reeds.checks.facts import Reading
from reeds.checks.findings import Finding, in_order
from reeds.checks.heard import EFFORT, PLAYING_TEST
from reeds.facts import findings_of
from reeds.forms import NumbersForm, PlayingForm
from reeds.measured import Measured
from reeds.quantities import asked_at, default_u
from reeds.vocabulary import Stage
from studio.errors import NotPossible


class DraftForms:
    """The forms of one draft, filled from the page or from what the server kept."""

    def __init__(self, submission: Submission, data: Mapping[str, Any] | None = None) -> None:
        self.submission = submission
        kept: Mapping[str, Any] = submission.draft if data is None else data
        self.question = submission.question if data is None else str(data.get("question", ""))
        reed = submission.reed
        asked = asked_at(Stage(reed.stage), reed.version.sheet.keys)
        self.numbers = NumbersForm(asked, kept or None)
        self.playing = PlayingForm(PLAYING_TEST, kept or None)

    @property
    def typed(self) -> dict[str, str]:
        """What was typed, as it was typed, without what the page adds."""
        names = [*self.numbers.fields, *self.playing.fields]
        source = {**self.numbers.data, **self.playing.data}
        return {name: str(self.numbers.data.get(name, "")) for name in names if name in source}

    def check(self) -> None:
        """Raise NotPossible if something typed cannot be read."""
        if self.numbers.is_bound and not (self.numbers.is_valid() and self.playing.is_valid()):
            raise NotPossible(
                _("One of the numbers cannot be right: see below. Nothing of the rest is lost.")
            )

    @cached_property
    def entries(self) -> list[Entry]:
        if not self.numbers.is_bound:
            return []
        self.numbers.is_valid()
        return self.numbers.entries()

    @cached_property
    def ratings(self) -> dict[str, int]:
        return self.playing.ratings() if self.playing.is_bound and self.playing.is_valid() else {}

    @property
    def effort(self) -> int | None:
        return (
            self.playing.cleaned_data.get("effort")
            if self.playing.is_bound and self.playing.is_valid()
            else None
        )

    @cached_property
    def findings(self) -> list[Finding]:
        """What the checks say of the reed with what is typed."""
        stage = Stage(self.submission.reed.stage)
        readings = [_reading(entry, stage) for entry in self.entries]
        answers = self.ratings if self.effort is None else {**self.ratings, EFFORT: self.effort}
        return in_order(findings_of(self.submission.reed, readings, answers))


def _reading(entry: Entry, stage: Stage) -> Reading:
    u = entry.u if entry.u is not None else default_u(entry.quantity, entry.method) or 0.0
    return Reading(
        quantity=entry.quantity.key,
        measured=None if entry.value is None else Measured(entry.value, u),
        choice=entry.word,
        method=entry.method,
        moisture=entry.moisture,
        when=timezone.now(),
        stage=stage,
    )


class AnswerForm(forms.ModelForm[Answer]):
    """The words of an answer, what is to become of the reed, one next step."""

    class Meta:
        model = Answer
        fields = ("words", "decision", "next_step", "caution")
        widgets = {"words": forms.Textarea(attrs={"rows": 4}), "decision": forms.RadioSelect}
