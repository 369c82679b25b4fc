"""A list of reeds that somebody kept elsewhere: uploaded, looked over, brought in, taken back."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterator
from typing import ClassVar, Self

from django.core.files.storage import default_storage
from django.db import models, transaction
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from lessons.log.choices import Choices
from lessons.log.table.rows import Row, kept_rows
from studio.access import Seer, StudioQuerySet, StudioRow
from studio.keys import StudioKey
from studio.models import Member


def rows_path(row: ReedLog, filename: str) -> str:
    """Return a path that tells nothing about the person."""
    return f"logs/{row.studio_id}/{uuid.uuid4().hex}.csv"


class LogState(models.TextChoices):
    WAITING = "waiting", _("looked over, nothing is written yet")
    WRITTEN = "written", _("brought in")
    UNDONE = "undone", _("taken back")
    FORGOTTEN = "forgotten", _("forgotten, nothing was written")


class ReedLogQuerySet(StudioQuerySet["ReedLog"]):
    def visible_to(self, member: Seer) -> Self:
        """Return the lists this member may see: a teacher all of them, everybody else those they brought."""
        rows = super().visible_to(member)
        return rows if member.leads else rows.filter(by=member.pk)

    def brought_in(self) -> ReedLogQuerySet:
        """Return those whose reeds are there."""
        return self.filter(written_at__isnull=False, undone_at__isnull=True)

    def forget_waiting(self, before: dt.datetime) -> None:
        """Forget uploads older than a moment that were not brought in; the sweep takes their files."""
        self.filter(written_at__isnull=True, uploaded_at__lt=before).delete()

    def standing(self) -> ReedLogQuerySet:
        """Return those that were not forgotten before they were brought in."""
        return self.exclude(written_at__isnull=True, undone_at__isnull=False)

    def same_file(self, log: ReedLog) -> ReedLogQuerySet:
        """Return those of the same studio that brought in this very file."""
        return self.brought_in().filter(studio=log.studio_id, digest=log.digest).exclude(pk=log.pk)


class ReedLog(StudioRow):
    """One upload. Its rows are kept as a file until it is brought in, a day at most."""

    owner_path = "by"

    by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    # whose reeds they all are; empty where a column says it
    student = StudioKey(Member, null=True, blank=True, on_delete=models.CASCADE, related_name="+")
    name = models.CharField(_("file"), max_length=100)
    digest = models.CharField(max_length=64, editable=False)
    key = models.UUIDField(
        default=uuid.uuid4, editable=False, help_text="What came with it carries this; sent twice, it is one."
    )
    file = models.FileField(upload_to=rows_path, blank=True, editable=False)
    headings = models.JSONField(default=list)
    row_count = models.PositiveIntegerField(default=0)
    # how the file was read, as pairs of a marked sentence and what fills its places
    said = models.JSONField(default=list)
    choices = models.JSONField(default=dict)
    # what looking it over found, see `actions.look`; after that what was made, see `writing`
    found = models.JSONField(default=dict)
    made = models.JSONField(default=dict)
    uploaded_at = models.DateTimeField(default=timezone.now, editable=False)
    written_at = models.DateTimeField(null=True, blank=True, editable=False)
    undone_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects: ClassVar[ReedLogQuerySet] = ReedLogQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["-uploaded_at", "-pk"]
        constraints = [models.UniqueConstraint(fields=["studio", "key"], name="reed_log_once_a_key")]

    def __str__(self) -> str:
        return self.name

    @property
    def state(self) -> LogState:
        if self.written_at is None:
            return LogState.WAITING if self.undone_at is None else LogState.FORGOTTEN
        return LogState.WRITTEN if self.undone_at is None else LogState.UNDONE

    @property
    def is_waiting(self) -> bool:
        return self.state == LogState.WAITING

    @property
    def is_written(self) -> bool:
        return self.state == LogState.WRITTEN

    @property
    def chosen(self) -> Choices:
        """What its columns are taken for, and what else was chosen."""
        return Choices.from_json(self.choices)

    def let_go_of_rows(self) -> None:
        """Keep its rows no longer, once what is done now holds; the caller saves `file`."""
        name = str(self.file.name)
        transaction.on_commit(lambda: default_storage.delete(name))
        self.file.name = ""

    def rows(self) -> Iterator[Row]:
        """Yield its rows as they stand in the file; none once they were let go of."""
        try:
            raw = default_storage.open(str(self.file.name), "rb")
        except FileNotFoundError:  # brought in or swept this very moment
            return
        with raw:
            yield from kept_rows(line.decode() for line in raw)
