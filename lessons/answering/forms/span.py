"""A span of a recording as a teacher types it: from and to in seconds, words or usual ones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from lessons.answering.annotation import MAX_WORDS, MarkRefused
from lessons.answering.models import Phrase
from lessons.answering.spans import KIND, LATEST_S, Span, read_span
from reeds.fields import OnceForm, TypedNumber
from reeds.numbers.words import gettext_noop
from reeds.take.models import Take
from reeds.wording import say


def _seconds(name: str, label: object) -> TypedNumber:
    return TypedNumber(name=name, unit="s", low=0.0, high=LATEST_S, label=label, required=True)


def duration_of(take: Take) -> float:
    """Return how long a take is, s; 0 for one that was not heard, which so takes no span."""
    return take.heard.duration_s


class SpanForm(OnceForm):
    """One span of one take; without script it is the whole tool, with it what is dragged stands here."""

    start = _seconds(gettext_noop("beginning"), gettext_lazy("from, s"))
    end = _seconds(gettext_noop("end"), gettext_lazy("to, s"))
    phrase = forms.TypedChoiceField(
        label=gettext_lazy("or one of my usual words"), required=False, coerce=int, empty_value=None
    )
    words = forms.CharField(
        label=gettext_lazy("what you hear there"),
        required=False,
        max_length=MAX_WORDS,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, take: Take, phrases: Sequence[Phrase], data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, auto_id=f"span-{take.pk}-%s")
        self.duration_s = duration_of(take)
        self.phrases = {phrase.pk: phrase for phrase in phrases}
        choices = [("", ""), *((phrase.pk, phrase.words) for phrase in phrases)]
        self.fields["phrase"].choices = choices  # type: ignore[attr-defined]  # it is a ChoiceField

    def clean(self) -> dict[str, Any]:
        """Read the span where both ends are numbers."""
        given = super().clean() or {}
        if given.get("start") is None or given.get("end") is None:
            return given
        words = " ".join(str(part) for part in (given.get("words"), self.usual or "") if part)
        typed = {"kind": KIND, "start": given["start"], "end": given["end"], "words": words}
        try:
            given["span"] = read_span(typed, self.duration_s)
        except MarkRefused as refusal:
            raise forms.ValidationError(say(refusal)) from None
        return given

    @property
    def usual(self) -> Phrase | None:
        """The usual words that were picked."""
        return self.phrases.get(self.cleaned_data.get("phrase") or 0)

    @property
    def span(self) -> Span:
        """What was read; only of a valid form."""
        read: Span = self.cleaned_data["span"]
        return read
