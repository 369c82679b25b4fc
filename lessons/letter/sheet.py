"""What stands on a letter: the same for the page that is read and for the PDF that is made of it."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, cached_property

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone, translation

from lessons.letter.models import Letter, LetterPicture
from lessons.letter.press import Sheet
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo

STATIC = settings.BASE_DIR / "static"
RULER, REED = "pictures/millimetres.svg", "pictures/reed.svg"


@cache
def style(name: str) -> str:
    """Return one of the site's style sheets as text."""
    return (STATIC / "css" / name).read_text()


def styles() -> tuple[str, ...]:
    return (style("tokens.css"), style("letter.css"))


@dataclass(frozen=True)
class Shown:
    """A reed's photo laid flat, with its caption."""

    row: LetterPicture
    measuring: PhotoMeasuring

    @property
    def caption(self) -> str:
        return self.row.caption

    @property
    def address(self) -> str:
        """How the document names it."""
        return f"pictures/{self.row.place}.jpg"


@dataclass(frozen=True)
class LetterOnPaper:
    """A letter with those of its pictures that may be shown still."""

    letter: Letter

    @cached_property
    def _chosen(self) -> list[LetterPicture]:
        return list(self.letter.chosen_pictures())

    @cached_property
    def allowed(self) -> list[Shown]:
        """Its pictures that the student may see and, under age, the guardian has agreed to."""
        student = self.letter.student
        if not student.may_send_pictures:
            return []
        seen = set(Photo.objects.visible_to(student).values_list("pk", flat=True).filter(pk__in=self._photos))
        return [Shown(row, row.photo.measuring) for row in self._chosen if row.photo and row.photo_id in seen]

    @property
    def _photos(self) -> list[int]:
        return [row.photo_id for row in self._chosen if row.photo_id]

    @property
    def pictures(self) -> list[Shown]:
        """Those that lie flat already."""
        return [one for one in self.allowed if one.measuring.is_flat]

    @property
    def unlaid(self) -> list[Shown]:
        """Those that the worker has still to lay flat."""
        return [one for one in self.allowed if not one.measuring.is_flat]

    @property
    def left_out(self) -> int:
        """How many can be shown no longer: taken away, or without consent."""
        return len(self._chosen) - len(self.allowed)

    @cached_property
    def html(self) -> str:
        """The whole document, in the reader's language and on the studio's clock."""
        letter = self.letter
        given = {"letter": letter, "sheet": self, "ruler": RULER}
        with translation.override(letter.language), timezone.override(letter.studio.zone):
            return render_to_string("lessons/letter/document.html", given)

    @property
    def files(self) -> dict[str, str]:
        """The stored file of each picture."""
        return {one.address: str(one.measuring.flat.name) for one in self.pictures}

    @property
    def mark(self) -> str:
        """A mark of all that a PDF is made of: where it differs, the PDF is of something else."""
        return mark_of(self.html, self.files)

    def sheet(self) -> Sheet:
        """Return what is pressed; raises FileNotFoundError if a picture's file is gone."""
        pictures = {path: (STATIC / path).read_bytes() for path in (RULER, REED)}
        for one in self.pictures:
            with one.measuring.flat.open("rb") as file:
                pictures[one.address] = file.read()
        return Sheet(self.html, styles(), pictures)


def plain_sheet(html: str) -> Sheet:
    """Return a page without photos, as it is pressed; it wears what a letter wears."""
    return Sheet(html, styles(), {REED: (STATIC / REED).read_bytes()})


def smaller(sheet: Sheet) -> Sheet:
    """Return the same in smaller type."""
    return replace(sheet, styles=(*sheet.styles, style("letter-smaller.css")))


def mark_of(html: str, files: Mapping[str, str]) -> str:
    """Return 64 letters that differ where page, style or pictures do."""
    of = hashlib.sha256()
    for part in (html, *styles(), *(f"{name} {file}" for name, file in sorted(files.items()))):
        of.update(part.encode() + b"\0")
    return of.hexdigest()
