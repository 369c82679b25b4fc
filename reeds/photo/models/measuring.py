"""What the server and people found in a photo: markers, landmarks, the outline of the opening, lengths."""

from __future__ import annotations

from typing import ClassVar, Self

from django.db import models
from django.db.models import Exists, OuterRef
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.photo.models.card import PrintedCard
from reeds.photo.models.photo import Photo, View
from reeds.photo.vision.opening import Outline
from reeds.photo.vision.record import LengthsKept, OutlineSet, ReedFound
from reeds.photo.vision.reed_plane import ReedPlane
from studio.access import Seer, StudioQuerySet, StudioRow
from studio.keys import OneStudioKey, StudioKey
from studio.models import Member

REED, OPENING = "reed", "opening"


def wanted_in(photo: Photo) -> str:
    """Return what is to be looked for in a photo: the reed on its card, or the opening."""
    return OPENING if photo.view == View.OPENING else REED


class ScaleKind(models.TextChoices):
    """Where a photo's millimetres come from."""

    CARD = "card", _("the printed card")
    KNOWN = "known", _("a ruler beside it")
    ID1 = "id1", _("a bank card beside it")


class LookState(models.TextChoices):
    """How far the worker is with looking at a photo."""

    WAITING = "waiting", _("being looked at")
    FOUND = "found", _("found")
    NOT_FOUND = "not_found", _("not found")


class PhotoMeasuringQuerySet(StudioQuerySet["PhotoMeasuring"]):
    def visible_to(self, member: Seer) -> Self:
        """Return the measurings of the photos this member may see."""
        return self.filter(photo__in=Photo.objects.visible_to(member))

    def measured(self) -> PhotoMeasuringQuerySet:
        """Return those from which a person kept lengths."""
        return self.filter(measured_at__isnull=False)

    def with_scale(self) -> PhotoMeasuringQuerySet:
        """Return those whose photo has millimetres of its own: measured, or on a card that was found."""
        photos = Photo.objects.with_scale().filter(pk=OuterRef("photo"), studio=OuterRef("studio"))
        return self.filter(Exists(photos))

    def likely_card(self, owner: Member, cards: list[PrintedCard]) -> PrintedCard | None:
        """Return the card to fill in beforehand: last used for this student, else their own newest."""
        kept = self.measured().filter(photo__reed__owner=owner, card__in=cards)
        last = kept.order_by("-measured_at").values_list("card_id", flat=True).first()
        likely = [card for card in cards if card.pk == last] or [c for c in cards if c.owner_id == owner.pk]
        return next(reversed(likely or cards), None)

    def of(self, photo: Photo) -> PhotoMeasuring:
        """Return the photo's measuring; one that is not stored where nobody asked for it yet."""
        of = photo.studio_id
        row = self.filter(studio=of, photo=photo).first() or PhotoMeasuring(studio_id=of)
        row.photo = photo  # as the caller has it
        return row

    def begun(self, photo: Photo) -> PhotoMeasuring:
        """Return the photo's measuring, stored now if there was none."""
        row, _made = self.get_or_create(studio_id=photo.studio_id, photo=photo)
        row.photo = photo
        return row


class PhotoMeasuring(StudioRow):
    """One photo's measuring: what was proposed, what a person kept, and where the scale came from.

    The JSON columns are written by the `to_json` of the records in `vision.record` and read here alone, as
    those records.
    """

    owner_path = "photo__reed__owner"

    photo = OneStudioKey(Photo, on_delete=models.CASCADE, related_name="measuring")
    looked_for = models.CharField(max_length=10, blank=True)
    state = models.CharField(max_length=10, choices=LookState.choices, default=LookState.WAITING)
    refusal = models.CharField(max_length=300, blank=True)
    asked_at = models.DateTimeField(default=timezone.now)

    markers = models.JSONField(null=True)
    proposed = models.JSONField(default=dict)
    outline = models.JSONField(null=True)
    laid = models.JSONField(null=True)

    scale = models.CharField(max_length=6, choices=ScaleKind.choices, default=ScaleKind.CARD)
    card = StudioKey(PrintedCard, null=True, blank=True, on_delete=models.SET_NULL, related_name="measurings")
    reference = models.JSONField(default=dict)
    heights = models.JSONField(default=list)
    landmarks = models.JSONField(default=dict)
    camera = models.JSONField(null=True)
    lengths = models.JSONField(default=dict)
    measured_by = StudioKey(Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    measured_at = models.DateTimeField(null=True, blank=True)

    flat = models.FileField(blank=True)
    flat_of = models.DateTimeField(null=True, blank=True)

    objects: ClassVar[PhotoMeasuringQuerySet] = PhotoMeasuringQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = [models.UniqueConstraint(fields=["studio", "photo"], name="measuring_once_a_photo")]

    def __str__(self) -> str:
        return f"{self.photo}: {self.get_state_display()}"

    @property
    def is_looked_at(self) -> bool:
        """Whether the worker is done looking for what the photo is said to show."""
        return self.state != LookState.WAITING and self.looked_for == wanted_in(self.photo)

    @property
    def is_asked_for(self) -> bool:
        """Whether the worker knows that it is to look for that, or has."""
        return not self._state.adding and self.looked_for in ("", wanted_in(self.photo))

    @property
    def is_flat(self) -> bool:
        """Whether the flat cut of the landmarks as they stand is there."""
        return bool(self.flat) and self.flat_of == self.measured_at

    @property
    def found(self) -> ReedFound:
        """The card and the landmarks as the worker found them."""
        return ReedFound.from_json(vars(self))

    @property
    def laid_plane(self) -> ReedPlane | None:
        """The plane in which a reed lies on the card that the worker found; None for none, or tip-on."""
        return ReedPlane.from_json(self.laid) if self.laid and wanted_in(self.photo) == REED else None

    @property
    def found_outline(self) -> Outline | None:
        """The opening's outline as the worker found it."""
        return Outline.from_json(self.outline) if self.outline else None

    @property
    def kept(self) -> LengthsKept:
        """What a person kept."""
        return LengthsKept.from_json(vars(self))

    @property
    def outline_set(self) -> OutlineSet:
        """Where a person left the points of the outline."""
        return OutlineSet.from_json(self.reference)
