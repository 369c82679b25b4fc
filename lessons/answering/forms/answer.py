"""What a teacher fills in: an answer, usual words, the filter of the queue."""

from __future__ import annotations

from functools import cached_property
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from lessons.answering.models import Answer, Decision, Phrase, Written
from lessons.demonstration.models import Demonstration, subjects_beside
from lessons.sending.models import Submission, SubmissionQuerySet
from lessons.sending.placed import Placed
from reeds.reed.models.reed import STAGE_CHOICES
from studio.access import Seer
from studio.models import Member
from studio.prepared import prepared
from studio.widgets_written import LongSelect

TEXTS = ("words", "decision", "next_step", "caution")


class AnswerForm(forms.ModelForm[Answer]):
    """The words of an answer, what is to become of the reed, one next step; it grows until it is sent."""

    decision = forms.ChoiceField(
        label=_("What now"), required=False, choices=Decision.choices, widget=forms.RadioSelect
    )

    class Meta:
        model = Answer
        fields = (*TEXTS, "demonstration")
        widgets = {
            "words": forms.Textarea(attrs={"rows": 3}),
            "next_step": forms.Textarea(attrs={"rows": 2}),
            "caution": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Django calls it
        super().__init__(*args, **kwargs)
        rows = Demonstration.objects.visible_to(self.instance.author)
        kept = rows.filter(answers=self.instance.pk) if self.instance.pk else rows.none()
        self.fields["demonstration"].queryset = (rows.shown() | kept).distinct()  # type: ignore[attr-defined]  # a ModelChoiceField

    @cached_property
    def _rows(self) -> list[Demonstration]:
        return _offered(self.instance.author, self.instance.pk or 0)

    @cached_property
    def beside_it(self) -> list[Demonstration]:
        """The demonstrations that are about what was found, or about the stage."""
        wanted = subjects_beside(self.instance.submission.found, self.instance.submission.stage)
        return [row for row in self._rows if row.about in wanted and row.put_away_at is None]

    @property
    def demonstrations(self) -> list[tuple[str, list[Demonstration]]]:
        """What can go along, in groups: what is about this round first."""
        groups = [
            (_("beside this round"), self.beside_it),
            (_("others"), [row for row in self._rows if row not in self.beside_it]),
        ]
        return [(str(name), found) for name, found in groups if found]

    def written(self) -> Written:
        """Return what was read, to be kept."""
        texts = {name: self.cleaned_data.get(name) or "" for name in TEXTS}
        shown = self.cleaned_data.get("demonstration")
        return Written(**texts, demonstration_id=shown.pk if shown else None)


@prepared
def _offered(member: Seer, answer: int) -> QuerySet[Demonstration]:
    rows = Demonstration.objects.visible_to(member)
    return (rows.shown() | rows.filter(answers=answer)).distinct()


class PhraseForm(forms.ModelForm[Phrase]):
    """A teacher's usual words."""

    class Meta:
        model = Phrase
        fields = ("words",)
        widgets = {"words": forms.Textarea(attrs={"rows": 2})}


@prepared
def _students(member: Seer) -> QuerySet[Member, tuple[Any, ...]]:
    return Member.objects.visible_to(member).students().values_list("pk", "person__name", "person__username")


class QueueFilter(forms.Form):
    """Which of the waiting reeds are shown; what cannot be read is left out."""

    student = forms.TypedChoiceField(
        label=_("Student"), required=False, coerce=int, empty_value=None, widget=LongSelect
    )
    stage = forms.ChoiceField(
        label=_("Stage"), required=False, choices=[("", _("all stages")), *STAGE_CHOICES]
    )
    mine = forms.BooleanField(label=_("I have this one"), required=False)
    contradiction = forms.BooleanField(label=_("numbers that contradict"), required=False)
    under_age = forms.BooleanField(label=_("under age"), required=False)

    def __init__(self, member: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Form takes them
        super().__init__(*args, **kwargs)
        self.member = member
        self.fields["student"].choices = lambda: self._students  # type: ignore[attr-defined]  # a ChoiceField

    @cached_property
    def _students(self) -> list[tuple[object, object]]:
        """Who can be chosen: asked where the filter is shown or used, and on no other page."""
        named = _students(self.member)
        return [("", _("all students")), *((pk, name or username) for pk, name, username in named)]

    def narrow(self, line: list[Placed]) -> list[Placed]:
        """Return those that were asked for, in the same order."""
        if not self.is_narrowing:
            return line
        rows = Submission.objects.visible_to(self.member).filter(pk__in=[place.pk for place in line])
        asked_for = set(self._narrowed(rows).values_list("pk", flat=True))
        return [place for place in line if place.pk in asked_for]

    def _narrowed(self, rows: SubmissionQuerySet) -> SubmissionQuerySet:
        self.full_clean()
        asked = self.cleaned_data
        given = {name: asked[name] for name in ("student", "stage") if asked.get(name)}
        if asked.get("under_age"):
            given["student__under_age"] = True
        if asked.get("mine"):
            given |= {"looking__member": self.member, "looking__has_it": True}
        rows = rows.filter(**given)
        return rows.with_contradiction() if asked.get("contradiction") else rows

    @property
    def is_narrowing(self) -> bool:
        return self.is_bound and any(self.data.get(name) for name in self.fields)

    @property
    def given(self) -> list[tuple[str, str]]:
        """What was chosen, by the names of the fields."""
        return [(name, self.data[name]) for name in self.fields if self.data.get(name)]

    @property
    def query(self) -> str:
        """What keeps the choice on the way from reed to reed: '' or '?student=3'."""
        return f"?{urlencode(self.given)}" if self.given else ""
