"""The work behind a sound: its upload decoded once, its copy written, the upload deleted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any

from django.core.files.base import ContentFile
from django.db.models.fields.files import FieldFile

from reeds.apart import NOT_DONE, apart
from reeds.numbers.words import Refused, gettext_noop
from reeds.take.heard_by_all import HeardByAll
from reeds.take.kept import KeptSound, SoundState
from studio.files import drop_upload

GONE = gettext_noop("The file of this recording is gone. Record it again.")


@dataclass(frozen=True)
class WrittenCopy:
    """The copy of a recording that is served: its name in the storage, media type and size."""

    name: str
    content_type: str
    size_bytes: int


def write_plain(raw: FieldFile, copy: Mapping[str, Any]) -> WrittenCopy:
    """Write the copy that is served, made by `sound.jobs`: the sound alone, no place, time or picture.

    Its name follows from the upload's, so a run that was killed in the middle is written over by the next.
    """
    name = f"{PurePosixPath(str(raw.name)).with_suffix('')}-sound{copy['suffix']}"
    raw.storage.delete(name)  # what an earlier run, killed in the middle, left
    data: bytes = copy["data"]
    return WrittenCopy(raw.storage.save(name, ContentFile(data)), copy["content_type"], len(data))


def write_mp3(of: FieldFile, data: bytes | None) -> str:
    """Write the MP3 that is sent where not every browser plays the copy; return its name, '' without one.

    Named after the upload or the copy, so that a run that was killed is written over by the next.
    """
    if data is None:
        return ""
    name = f"{PurePosixPath(str(of.name)).with_suffix('')}-mp3.mp3"
    of.storage.delete(name)
    return of.storage.save(name, ContentFile(data))


def settle_sound(row: KeptSound) -> None:
    """Decode a row's upload and keep its copy, or why it cannot be read; run twice is the same as once."""
    if not row.sound_raw:
        return  # all done before
    rows = type(row)._default_manager.filter(pk=row.pk)
    if row.sound_is_waiting:
        columns = _prepared(row)
        if not rows.filter(sound_state=SoundState.WAITING).update(**columns):
            drop_unkept(row, columns, "sound")  # dropped meanwhile
    drop_upload(row, "sound_raw")


def drop_unkept(row: HeardByAll, columns: Mapping[str, object], copy: str) -> None:
    """Delete the copies of a run that came too late; those of a run that was quicker stay."""
    there = type(row)._default_manager.filter(pk=row.pk)
    for column in (copy, "mp3"):
        name = columns.get(column)
        if name and not there.filter(**{column: name}).exists():
            row.mp3.storage.delete(str(name))


def add_mp3(row: HeardByAll) -> None:
    """Make the MP3 of a row that was kept without one; run twice is the same as once."""
    copy, _type = row.copy_columns
    file: FieldFile = getattr(row, copy)
    there = type(row).without_mp3().filter(pk=row.pk)
    if not there.exists():
        return  # all done before
    try:
        with file.open("rb") as kept:
            columns = {"mp3": write_mp3(file, apart("reeds.take.sound.jobs:mp3_of", kept.read()))}
    except (FileNotFoundError, Refused):
        return  # it is sent as it is
    if not there.filter(**{copy: file.name}).update(**columns):
        drop_unkept(row, columns, copy)  # taken back meanwhile


def give_up_sound(row: KeptSound) -> None:
    """Say that nothing will come of a row's upload, and delete that."""
    rows = type(row)._default_manager.filter(pk=row.pk)
    rows.filter(sound_state=SoundState.WAITING).update(sound_state=SoundState.REFUSED, sound_refusal=NOT_DONE)
    if row.sound_raw:
        drop_upload(row, "sound_raw")


def _prepared(row: KeptSound) -> dict[str, object]:
    try:
        with row.sound_raw.open("rb") as file:
            done = apart("reeds.take.sound.jobs:keep_sound", file.read(), row.longest_s)
    except (FileNotFoundError, Refused) as refusal:
        said = GONE if isinstance(refusal, OSError) else str(refusal)
        return {"sound_state": SoundState.REFUSED, "sound_refusal": said}
    kept = write_plain(row.sound_raw, done["copy"])
    return {
        "sound": kept.name,
        "sound_type": kept.content_type,
        "mp3": write_mp3(row.sound_raw, done["mp3"]),
        "sound_seconds": done["seconds"],
        "sound_state": SoundState.READY,
    }
