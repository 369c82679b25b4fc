"""The journal of a studio: who signed in, opened whose photos and recordings, changed what people may.

`note` is the one way in, the worker forgets what was kept long enough, and nothing else changes or deletes a
row. No row holds a word that somebody wrote: what happened, who, whose, and the number of the thing.
"""

from __future__ import annotations

import datetime as dt
import logging
import re
from typing import Any, ClassVar, NoReturn, Protocol, Self

from django.db import DatabaseError, models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from studio.access import Seer, StudioQuerySet, StudioRow
from studio.keys import StudioKey

logger = logging.getLogger("studio.journal")
# so long a row is kept: own choice, the page of what is kept says it
KEPT = dt.timedelta(days=400)
# a word of ours, as 'student' or 'student>teacher': nothing that people write fits in
DETAIL = re.compile(r"[a-z_]{0,20}(?:>[a-z_]{0,20})?")


class Happened(models.TextChoices):
    """What a row says."""

    SIGNED_IN = "signed_in", _("signed in")
    SIGN_IN_FAILED = "not_signed_in", _("could not sign in")
    OPENED = "opened", _("opened")
    ROLE = "role", _("role changed")
    CONSENT = "consent", _("consent given")
    CONSENT_WITHDRAWN = "withdrawn", _("consent taken back")
    EXPORTED = "exported", _("export asked for")
    ERASURE_ASKED = "erasure_asked", _("erasure asked for")
    ERASED_PICTURES = "erased_pictures", _("photos and recordings erased")
    ERASED = "erased", _("person erased")
    KEEPING = "keeping", _("times of keeping changed")


class Thing(models.TextChoices):
    """What was opened; its number stands beside it."""

    NONE = "", ""
    PHOTO = "photo", _("photo")
    TAKE = "take", _("recording")
    ROUND = "round", _("round")


class JournalQuerySet(StudioQuerySet["JournalEntry"]):
    def visible_to(self, member: Seer) -> Self:
        """Return the rows of a teacher's studio; to anybody else those about them, and what they did."""
        rows = self.filter(studio=member.studio_id)
        return rows if member.leads else rows.filter(Q(whose=member.pk) | Q(by=member.pk))

    def update(self, **_given: Any) -> NoReturn:  # noqa: ANN401  # as Django's own
        raise TypeError("a journal is not changed")

    def delete(self) -> NoReturn:
        raise TypeError("rows of a journal are not deleted")

    def forget_old(self, now: dt.datetime) -> int:
        """Delete what was kept long enough; return how many rows."""
        rows: models.QuerySet[JournalEntry] = models.QuerySet(self.model, using=self.db)
        return rows.filter(at__lt=now - KEPT).delete()[0]


class JournalEntry(StudioRow):
    """One thing that happened. A row goes when it was kept long enough, or with its studio."""

    owner_path = "whose"

    at = models.DateTimeField(default=timezone.now, editable=False, db_index=True)
    happened = models.CharField(max_length=16, choices=Happened.choices)
    # nobody: the worker did it, as a studio's times of keeping say
    by = StudioKey("studio.Member", null=True, on_delete=models.RESTRICT, related_name="+")
    whose = StudioKey("studio.Member", null=True, on_delete=models.RESTRICT, related_name="+")
    thing = models.CharField(max_length=8, choices=Thing.choices, blank=True)
    number = models.PositiveBigIntegerField(null=True)
    detail = models.CharField(max_length=41, blank=True)
    # of what was opened: once a day is enough
    day = models.DateField(null=True, editable=False)

    objects: ClassVar[JournalQuerySet] = JournalQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "by", "thing", "number", "day"], name="opened_once_a_day"
            ),
        ]
        indexes = [models.Index(fields=["studio", "at"])]

    def __str__(self) -> str:
        return f"{self.get_happened_display()} {self.at:%Y-%m-%d}"

    @property
    def who(self) -> str:
        """Who did it, in words."""
        if self.by is not None:
            return str(self.by)
        tried = self.happened == Happened.SIGN_IN_FAILED
        return gettext("somebody") if tried else gettext("the server itself")

    def save(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Django's own
        if not self._state.adding:
            raise TypeError("a journal is not changed")
        super().save(*args, **kwargs)

    def delete(self, *_args: Any, **_kwargs: Any) -> NoReturn:  # noqa: ANN401  # as Django's own
        raise TypeError("rows of a journal are not deleted")


def note(happened: Happened, *, by: Seer | None = None, whose: Seer | None = None, detail: str = "") -> None:
    """Write down that something happened: done by `by` (None: the worker), to what is `whose`.

    `detail` is a word of ours, as `student>teacher` for a role that changed; ValueError for anything else.
    Called inside the transaction of what it tells, so that neither is there without the other.
    """
    seer = by or whose
    if seer is None or not DETAIL.fullmatch(detail):
        raise ValueError("a row of the journal says who, and its detail is a word of ours")
    JournalEntry.objects.create(
        studio_id=seer.studio_id,
        happened=happened,
        by_id=by.pk if by else None,
        whose_id=whose.pk if whose else None,
        detail=detail,
    )


class Opened(Protocol):
    """What may be opened: a row of a studio."""

    @property
    def pk(self) -> Any: ...  # noqa: ANN401  # Django's own primary key is Any
    @property
    def studio_id(self) -> int: ...


def note_opened(by: Seer, thing: Thing, row: Opened, whose: int) -> None:
    """Write down that somebody opened what is another's, once a day; one's own is nobody's business.

    A page shows even where this cannot be written, as on a full disk: the server's log has it then.
    """
    if by.pk == whose:
        return
    opened = {
        "studio_id": row.studio_id,
        "by_id": by.pk,
        "thing": thing,
        "number": row.pk,
        "day": timezone.localdate(),
    }
    try:
        if not JournalEntry.objects.filter(**opened).exists():
            told = JournalEntry(happened=Happened.OPENED, whose_id=whose, **opened)
            JournalEntry.objects.bulk_create([told], ignore_conflicts=True)
    except DatabaseError:
        logger.exception("not in the journal: member %s opened %s %s", by.pk, thing, row.pk)
