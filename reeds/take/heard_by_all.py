"""What a browser is sent of a sound: the copy as it came, or the MP3 beside it where not all play that."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models.fields.files import FieldFile

from reeds.take.sound.kinds import EVERYWHERE, MP3


class HeardByAll(models.Model):
    """The column of a row with a sound that holds its MP3; '' where the copy plays everywhere."""

    # which columns hold the copy and its media type
    copy_columns: ClassVar[tuple[str, str]]

    mp3 = models.FileField(blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def played(self) -> tuple[FieldFile, str]:
        """The file that is sent to a browser, and its media type."""
        copy, kind = self.copy_columns
        return (self.mp3, MP3) if self.mp3 else (getattr(self, copy), getattr(self, kind))

    @classmethod
    def without_mp3(cls) -> models.QuerySet[Any]:
        """Return the rows kept before there was an MP3 beside what not every browser plays."""
        copy, kind = cls.copy_columns
        rows = cls._default_manager.filter(mp3="").exclude(**{copy: ""})
        return rows.exclude(**{f"{kind}__in": EVERYWHERE})
