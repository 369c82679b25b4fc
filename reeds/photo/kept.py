"""A photo kept like a reed's, to be looked at and not measured: the worker makes its upright copies."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.db import models
from django.db.models.fields.files import FieldFile
from django.utils.translation import gettext_lazy as _

COPIES = ("screen", "thumbnail")


class PictureState(models.TextChoices):
    """Where the server is with a kept photo; '' where there is none."""

    WAITING = "waiting", _("being prepared")
    READY = "ready", _("ready")
    REFUSED = "refused", _("refused")


def photo_path(row: KeptPhoto, filename: str) -> str:
    """Return a path that tells nothing about the person; the name the phone gave is dropped."""
    suffix = filename[filename.rfind(".") :]
    return f"{row.folder}/{row.studio_id}/{uuid.uuid4().hex}{suffix}"  # type: ignore[attr-defined]  # a StudioRow


class KeptPhoto(models.Model):
    """The columns of a row that holds a photo; the upload is never served and goes once it was decoded."""

    folder: ClassVar[str]

    photo_raw = models.FileField(upload_to=photo_path, blank=True, editable=False)
    photo_screen = models.FileField(upload_to=photo_path, blank=True, editable=False)
    photo_thumbnail = models.FileField(upload_to=photo_path, blank=True, editable=False)
    photo_state = models.CharField(max_length=8, choices=PictureState.choices, blank=True, editable=False)
    photo_refusal = models.CharField(max_length=300, blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def photo_is_waiting(self) -> bool:
        return self.photo_state == PictureState.WAITING

    @property
    def photo_is_ready(self) -> bool:
        return self.photo_state == PictureState.READY

    @property
    def photo_files(self) -> list[FieldFile]:
        return [file for file in (self.photo_raw, self.photo_screen, self.photo_thumbnail) if file]
