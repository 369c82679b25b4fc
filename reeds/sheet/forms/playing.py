"""The playing test of a sheet as it is typed: which items, in which order, their notes, how fast."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reeds.numbers.words import PLAYING_TEST
from reeds.sheet.playing_items import (
    NONE,
    WITHOUT_NOTES,
    PlayingItem,
    PlayingItemError,
    check_notes,
    read_notes,
    read_tempo,
)
from reeds.wording import notes_in_words, say
from studio.reading import calls_notes_german

PLACES = [(place, str(place)) for place in range(1, len(PLAYING_TEST) + 1)]


class ItemForm(forms.Form):
    """One item that a playing test may hold."""

    wanted = forms.BooleanField(label=gettext_lazy("in the test"), required=False)
    place = forms.TypedChoiceField(label=gettext_lazy("place"), choices=PLACES, coerce=int)
    notes = forms.CharField(label=gettext_lazy("notes, in order"), required=False, max_length=200)
    tempo = forms.CharField(
        label=gettext_lazy("beats a minute"),
        required=False,
        max_length=10,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "number"}),
    )

    def __init__(
        self, key: str, place: int, item: PlayingItem | None, data: Mapping[str, Any] | None
    ) -> None:
        self.key = key
        initial: dict[str, Any] = {"wanted": item is not None, "place": place}
        if item is not None:
            initial |= {
                "notes": notes_in_words(item.notes),
                "tempo": "" if item.tempo is None else item.tempo,
            }
        super().__init__(data, prefix=key, initial=initial)
        if key in WITHOUT_NOTES:
            del self.fields["notes"], self.fields["tempo"]

    @property
    def name(self) -> str:
        """The marked words for the item."""
        return PLAYING_TEST[self.key]

    @property
    def row_label(self) -> str:
        """What tells this row from the others in a list of what was refused."""
        return _(self.name)

    @property
    def takes_notes(self) -> bool:
        return "notes" in self.fields

    def clean_notes(self) -> tuple[str, ...]:
        """Return the notes; of an item that is left out, whatever was typed is let be."""
        if not self.cleaned_data.get("wanted"):
            return ()
        try:
            german = calls_notes_german()
            notes = read_notes(self.cleaned_data["notes"], german=german)
            check_notes(self.key, notes, german=german)
        except PlayingItemError as problem:
            raise ValidationError(say(problem)) from None
        return notes

    def clean_tempo(self) -> int | None:
        """Return the beats a minute."""
        if not self.cleaned_data.get("wanted"):
            return None
        try:
            return read_tempo(self.cleaned_data["tempo"])
        except PlayingItemError as problem:
            raise ValidationError(say(problem)) from None

    def item(self) -> PlayingItem:
        """Return the item as it was typed."""
        return PlayingItem(self.key, self.cleaned_data.get("notes", ()), self.cleaned_data.get("tempo"))


class WhyForm(forms.Form):
    """What goes with the new version: what changed, and which version was being changed."""

    why = forms.CharField(label=gettext_lazy("What changed, and why"), max_length=200)
    seen = forms.IntegerField(widget=forms.HiddenInput)


class TestForm:
    """All items, those of the test first and in their order."""

    __test__ = False  # no test of ours, whatever its name begins with

    def __init__(self, test: Sequence[PlayingItem], data: Mapping[str, Any] | None = None) -> None:
        there = {item.key: item for item in test}
        keys = [*there, *(key for key in PLAYING_TEST if key not in there)]
        self.rows = [ItemForm(key, place, there.get(key), data) for place, key in enumerate(keys, 1)]
        self.refusal = ""

    def is_valid(self) -> bool:
        """Whether every row can be right and one at least is wanted."""
        wrong = [row for row in self.rows if not row.is_valid()]  # every row says what is wrong with it
        valid = not wrong
        if valid and not self.items:
            self.refusal = _(NONE)
        return valid and not self.refusal

    @property
    def items(self) -> list[PlayingItem]:
        """The items wanted, in the places typed; two of one place stand as they stood before."""
        wanted = [row for row in self.rows if row.cleaned_data.get("wanted")]
        return [row.item() for row in sorted(wanted, key=lambda row: int(row.cleaned_data["place"]))]
