"""A recording kept like a take, for people to hear: the worker decodes it and writes its sound alone."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.db import models
from django.db.models.fields.files import FieldFile
from django.utils.translation import gettext_lazy as _

from reeds.take.heard_by_all import HeardByAll


class SoundState(models.TextChoices):
    """Where the server is with a kept sound; '' where there is none."""

    WAITING = "waiting", _("being prepared")
    READY = "ready", _("ready")
    REFUSED = "refused", _("refused")


def sound_path(row: KeptSound, filename: str) -> str:
    """Return a path that tells nothing about the person."""
    suffix = filename[filename.rfind(".") :]
    return f"{row.folder}/{row.studio_id}/{uuid.uuid4().hex}{suffix}"  # type: ignore[attr-defined]  # a StudioRow


class KeptSound(HeardByAll):
    """The columns of a row that holds a sound; the upload is never served and goes once it was decoded."""

    folder: ClassVar[str]
    longest_s: ClassVar[float]
    copy_columns = ("sound", "sound_type")

    sound_raw = models.FileField(upload_to=sound_path, blank=True, editable=False)
    sound = models.FileField(upload_to=sound_path, blank=True, editable=False)
    sound_type = models.CharField(max_length=40, blank=True, editable=False)
    sound_seconds = models.FloatField(null=True, editable=False)
    sound_state = models.CharField(max_length=8, choices=SoundState.choices, blank=True, editable=False)
    sound_refusal = models.CharField(max_length=300, blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def sound_is_waiting(self) -> bool:
        return self.sound_state == SoundState.WAITING

    @property
    def sound_is_ready(self) -> bool:
        return self.sound_state == SoundState.READY

    @property
    def sound_is_refused(self) -> bool:
        return self.sound_state == SoundState.REFUSED

    @property
    def sound_files(self) -> list[FieldFile]:
        return [file for file in (self.sound_raw, self.sound, self.mp3) if file]
