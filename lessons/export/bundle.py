"""One export written as a zip: tables, notes, descriptions, and with them photos and recordings."""

from __future__ import annotations

import datetime as dt
import io
import json
import tempfile
import zipfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import IO, Any

from django.conf import settings
from django.core.files.storage import default_storage
from django.utils.translation import gettext as _

from lessons.answering.annotation import CONTEXT
from lessons.export.gathering.reasons import LEFT_OUT, PARTS_LEFT_OUT
from lessons.export.gathering.scope import Scope
from lessons.export.gathering.source import FileHere, Source, Table
from lessons.export.packing.descriptor import datapackage, json_path_of, path_of
from lessons.export.packing.readme import Held, readme
from lessons.export.packing.shapes import Shape
from lessons.export.packing.writing import ENCODING, write_table
from studio.errors import NotPossible

BLOCK = 1024 * 1024
# more than that is no file to download in one go, and would fill a disk of the usual size; own choice
MOST_BYTES = 4 * 1024**3


@dataclass(frozen=True)
class Contents:
    """What exports are made of: tables, files, and notes that name those of the files that are there."""

    tables: Sequence[Table]
    files: Callable[[Scope], Iterable[FileHere]]
    marks: Callable[[Scope, Mapping[tuple[str, int], str]], Iterable[dict[str, Any]]]


def write_bundle(contents: Contents, scope: Scope, out: IO[bytes], now: dt.datetime) -> None:
    """Write the whole export into a file.

    However large the studio, no more than a part of one table or of one file is in memory. Raises
    NotPossible where photos and recordings are too large.
    """
    _know_each_other(contents.tables, scope)
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as bundle:
        title = _title(scope, now)
        written = [(table.shape, _write(bundle, table, scope)) for table in contents.tables]
        kept = list(contents.files(scope))
        missing = _add_files(bundle, kept)
        there = {(one.table, one.pk): one.path for one in kept if one.path not in missing}
        _write_marks(bundle, scope, contents.marks(scope, there))
        described = datapackage([shape for shape, _n in written], title, now.isoformat(), _)
        bundle.writestr("datapackage.json", json.dumps(described, ensure_ascii=False, indent=2))
        held = Held(title, written, scope.with_pictures, missing, {**LEFT_OUT, **PARTS_LEFT_OUT})
        bundle.writestr("README.txt", readme(held, _))


def _know_each_other(tables: Sequence[Table], scope: Scope) -> None:
    """Let the scope ask the tables which reeds they tell of and which rows they have."""
    sources = [table for table in tables if isinstance(table, Source)]
    scope.ids = {source.name: source.ids for source in sources}
    scope.of_reeds = [source.reeds for source in sources if source.reed and source.when]


def _title(scope: Scope, now: dt.datetime) -> str:
    studio = scope.member.studio
    term = scope.term
    when = f"{term}, {term.starts_on} – {term.ends_on}" if term else _("all of the time")
    whose = scope.names.get(scope.student.pk, "") if scope.student else _("the whole studio")
    made = now.astimezone(scope.zone).isoformat(timespec="minutes")
    return "\n".join(
        [
            _("Reeds of %(whose)s, %(studio)s: %(when)s.") % {"whose": whose, "studio": studio, "when": when},
            _("Made on %(made)s for %(who)s. Time zone %(zone)s, the studio's A is %(a4)g Hz.")
            % {"made": made, "who": scope.member, "zone": studio.time_zone, "a4": studio.a4_hz},
        ]
    )


def _write(bundle: zipfile.ZipFile, table: Table, scope: Scope) -> int:
    """Write one table as CSV and as JSON; a zip is written one file after the other, so JSON waits."""
    shape: Shape = table.shape
    with tempfile.TemporaryFile("w+", encoding="utf-8") as nested:
        with bundle.open(path_of(shape), "w", force_zip64=True) as raw:
            flat = io.TextIOWrapper(raw, encoding=ENCODING, newline="")
            count = write_table(shape, table.rows(scope), flat, nested)
            flat.flush()
            flat.detach()
        nested.seek(0)
        with bundle.open(json_path_of(shape), "w", force_zip64=True) as raw:
            while part := nested.read(BLOCK):
                raw.write(part.encode())
    return count


def _write_marks(bundle: zipfile.ZipFile, scope: Scope, marks: Iterable[dict[str, Any]]) -> None:
    """Write an AnnotationPage, note by note.

    Source: W3C 'Web Annotation Data Model', 23 February 2017, 5.2.
    """
    with bundle.open("marks.json", "w", force_zip64=True) as raw:
        address = settings.SITE_ADDRESS + scope.member.to("lessons:export") + "#marks"
        head = {"@context": CONTEXT, "id": address, "type": "AnnotationPage", "startIndex": 0}
        raw.write((json.dumps(head)[:-1] + ', "items": [').encode())
        for place, mark in enumerate(marks):
            line = json.dumps(mark, ensure_ascii=False)
            raw.write(((",\n" if place else "\n") + line).encode())
        raw.write(b"\n]}\n")


def _add_files(bundle: zipfile.ZipFile, kept: Sequence[FileHere]) -> list[str]:
    """Add photos and recordings as they are; return the paths of those that are gone."""
    missing, total = [], 0
    for one in kept:
        try:
            total += default_storage.size(one.stored)
            if total > MOST_BYTES:
                raise NotPossible(
                    _(
                        "The photos and recordings are more than 4 GB. Export one student or one term at a"
                        " time, or leave photos and recordings out."
                    )
                )
            _add(bundle, one)
        except FileNotFoundError:
            missing.append(one.path)
    return missing


def _add(bundle: zipfile.ZipFile, one: FileHere) -> None:
    with default_storage.open(one.stored) as source:
        told = zipfile.ZipInfo(one.path)  # compressed already, so stored as it is
        with bundle.open(told, "w", force_zip64=True) as raw:
            while part := source.read(BLOCK):
                raw.write(part)
