"""What the measuring page sends: points on the photo, where the millimetres come from, what to keep."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reeds.fields import MeasuredOnPhoto, TypedNumber
from reeds.numbers.words import Moisture, gettext_noop
from reeds.photo.measuring import Given, points_from
from reeds.photo.models.card import PrintedCard
from reeds.photo.models.measuring import ScaleKind
from reeds.photo.models.photo import Photo
from reeds.photo.vision.lengths import LANDMARKS
from reeds.photo.vision.record import MarksBeside
from reeds.wording import choices_of
from studio.models import Member

if TYPE_CHECKING:
    from django_stubs_ext import StrPromise

RULER = ("ruler_start", "ruler_stop")
CORNERS = ("corner_1", "corner_2", "corner_3", "corner_4")
REFERENCES = {
    "ruler_start": gettext_noop("one mark of the ruler"),
    "ruler_stop": gettext_noop("another mark of the ruler"),
    "corner_1": gettext_noop("first corner of the bank card"),
    "corner_2": gettext_noop("second corner of the bank card"),
    "corner_3": gettext_noop("third corner of the bank card"),
    "corner_4": gettext_noop("fourth corner of the bank card"),
}
NEEDED = {ScaleKind.CARD: (), ScaleKind.KNOWN: RULER, ScaleKind.ID1: CORNERS}
LONGEST_RULER_MM = 1000.0
HIGHEST_AXIS_MM = 20.0
MOISTURE = choices_of(Moisture)


def _height(name: str, label: StrPromise) -> TypedNumber:
    return TypedNumber(name=name, unit="mm", low=0.0, high=HIGHEST_AXIS_MM, label=label)


class MeasureForm(MeasuredOnPhoto):
    """One state of the measuring page; `given` is what it says once it is valid."""

    points = forms.CharField(max_length=4000)
    scale = forms.TypedChoiceField(choices=ScaleKind.choices, coerce=ScaleKind)
    card = forms.ModelChoiceField(PrintedCard.objects.none(), required=False)
    known_mm = TypedNumber(
        name=gettext_noop("the distance between the two marks"),
        unit="mm",
        low=0.0,
        high=LONGEST_RULER_MM,
        label=gettext_lazy("millimetres between the two marks"),
    )
    foot_height = _height(gettext_noop("the height at the foot"), gettext_lazy("at the foot (mm)"))
    tip_height = _height(gettext_noop("the height at the tip"), gettext_lazy("at the tip (mm)"))
    moisture = forms.ChoiceField(
        label=gettext_lazy("The cane is"), choices=MOISTURE, initial=Moisture.UNKNOWN, required=False
    )
    keep = forms.CharField(required=False, widget=forms.MultipleHiddenInput)

    def __init__(self, member: Member, photo: Photo, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.photo, self.shown_width = photo, photo.width
        cards = self.fields["card"]
        if isinstance(cards, forms.ModelChoiceField):
            cards.queryset = PrintedCard.objects.visible_to(member)

    def clean_points(self) -> dict[str, tuple[float, float]]:
        size = (self.photo.width or 1, self.photo.height or 1)
        try:
            return points_from(self.cleaned_data["points"], frozenset((*LANDMARKS, *REFERENCES)), size)
        except (ValueError, RecursionError):
            raise ValidationError(
                _("The points cannot be read: every point is two numbers within the picture.")
            ) from None

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        scale, points = cleaned.get("scale"), cleaned.get("points", {})
        if scale == ScaleKind.KNOWN and "known_mm" in cleaned and not (cleaned["known_mm"] or 0) > 0:
            raise ValidationError(_("Say how many millimetres lie between the two marks."))
        if "points" in cleaned and scale and any(name not in points for name in NEEDED[scale]):
            raise ValidationError(
                _("Set both marks of the ruler on the photo.")
                if scale == ScaleKind.KNOWN
                else _("Set all four corners of the bank card on the photo, one after the other around it.")
            )
        if (cleaned.get("foot_height") is None) != (cleaned.get("tip_height") is None):
            raise ValidationError(_("Give the height at the foot and at the tip, or neither."))
        return cleaned

    @property
    def given(self) -> Given:
        """What was sent, as the computation takes it."""
        cleaned = self.cleaned_data
        points, scale = cleaned["points"], cleaned["scale"]
        heights = (cleaned["foot_height"], cleaned["tip_height"])
        return Given(
            points={name: place for name, place in points.items() if name in LANDMARKS},
            scale=scale,
            card=cleaned["card"] if scale == ScaleKind.CARD else None,
            beside=MarksBeside(cleaned["known_mm"] or 0.0, tuple(points[name] for name in NEEDED[scale])),
            heights=None if heights[0] is None else heights,
        )

    @property
    def ticked(self) -> set[str]:
        """The quantities that are to be kept."""
        return set(self.data.getlist("keep")) if hasattr(self.data, "getlist") else set()
