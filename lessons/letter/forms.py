"""What a teacher chooses and writes for a letter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from lessons.letter.models import MAX_LINE, MAX_WORDS, MOST, MOST_PICTURES
from lessons.letter.written import Candidate, Picture, Written
from studio.forms import OneLine

MOST_ROWS = 60
# fields that stand outside of their form on the page
OF_FORM = {"form": "letter-form"}
MOST_LINES = 24
NAMES = {
    "sentences": gettext_lazy("The term in short"),
    "comes_back": gettext_lazy("What comes back"),
    "agreed": gettext_lazy("What was agreed"),
}


@dataclass(frozen=True)
class Line:
    """One line that can go into the letter, and whether it does."""

    text: str
    kept: bool


class LinesInput(forms.Widget):
    """Rows of a text and a tick: texts come as `name-text`, the ticked rows' numbers as `name-keep`."""

    def value_from_datadict(self, data: Any, _files: Any, name: str) -> list[Line]:  # noqa: ANN401  # as Django has it
        if not isinstance(data, QueryDict):
            return []
        kept = set(data.getlist(f"{name}-keep"))
        texts = data.getlist(f"{name}-text")[:MOST_ROWS]
        return [Line(" ".join(text.split()), str(row) in kept) for row, text in enumerate(texts)]


class LinesField(forms.Field):
    """Lines of which a few go into the letter."""

    widget = LinesInput

    def __init__(self, most: int, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(required=False, **kwargs)
        self.most = most

    def clean(self, value: list[Line]) -> list[str]:
        chosen = [line.text for line in value if line.kept and line.text]
        if len(chosen) > self.most:
            sentence = ngettext(
                "%(most)d line at most: leave some of them out.",
                "%(most)d lines at most: leave some of them out.",
                self.most,
            )
            raise ValidationError(sentence % {"most": self.most})
        if any(len(text) > MAX_LINE for text in chosen):
            raise ValidationError(_("A line holds up to %(most)d letters.") % {"most": MAX_LINE})
        return chosen


class LetterForm(forms.Form):
    """Everything of a letter but its spoken note."""

    sentences = LinesField(MOST["sentences"])
    comes_back = LinesField(MOST["comes_back"])
    agreed = LinesField(MOST["agreed"])
    pictures = forms.TypedMultipleChoiceField(
        label=gettext_lazy("Reeds at their true size"), coerce=int, required=False
    )
    words = forms.CharField(
        label=gettext_lazy("Your words"),
        required=False,
        max_length=MAX_WORDS,
        widget=forms.Textarea(attrs={"rows": 9, **OF_FORM}),
    )
    next_aim = OneLine(
        label=gettext_lazy("The next aim"),
        required=False,
        max_length=MAX_LINE,
        widget=forms.TextInput(attrs=OF_FORM),
    )
    since = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, candidates: Sequence[Candidate], *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.candidates = candidates
        self.fields["pictures"].choices = [(one.photo, one.caption) for one in candidates]  # type: ignore[attr-defined]  # a ChoiceField

    def clean_pictures(self) -> list[int]:
        """Refuse a fourth."""
        chosen: list[int] = self.cleaned_data["pictures"]
        if len(chosen) > MOST_PICTURES:
            raise ValidationError(_("Three reeds at most: leave one out."))
        return chosen

    def clean_words(self) -> str:
        """Refuse what fills the page with empty lines, whatever its length."""
        lines = [line.rstrip() for line in self.cleaned_data["words"].strip().splitlines()]
        if len(lines) > MOST_LINES:
            raise ValidationError(
                _("Twenty-four lines at most, so that the letter stays one sheet of paper. These are %(n)d.")
                % {"n": len(lines)}
            )
        return "\n".join(lines)

    @property
    def written(self) -> Written:
        """What was read; only of a valid form."""
        given = self.cleaned_data
        chosen = [one for one in self.candidates if one.photo in given["pictures"]]
        texts = {kind: given[kind] for kind in (*MOST, "words", "next_aim")}
        return Written(**texts, pictures=[Picture(one.photo, one.caption) for one in chosen])
