"""Exports made in memory and read back."""

from __future__ import annotations

import csv
import io
import json
import zipfile

from django.utils import timezone

from lessons.export.bundle import write_bundle
from lessons.export.gathering.scope import Scope
from lessons.export.tasks import contents
from reeds.numbers.guard import unguarded


class Bundle:
    """One export, unpacked as it is asked for."""

    def __init__(self, file):
        self.zip = zipfile.ZipFile(file)
        self.names = self.zip.namelist()

    def table(self, name):
        """The rows of a CSV, texts as they were before they were guarded."""
        text = self.zip.read(f"csv/{name}.csv").decode("utf-8-sig")
        rows = csv.DictReader(io.StringIO(text, newline=""))
        return [{column: unguarded(cell) for column, cell in row.items()} for row in rows]

    def json(self, name):
        return json.loads(self.zip.read(name))

    def text(self, name):
        return self.zip.read(name).decode()

    def everything(self):
        """All bytes of all files, and their names."""
        return b"\n".join([*(self.zip.read(name) for name in self.names), *map(str.encode, self.names)])


def bundle(member, student=None, term=None, **how):
    out = io.BytesIO()
    write_bundle(contents(), Scope(member, student, term, **how), out, timezone.now())
    return Bundle(out)
