"""The work behind a kept photo: its upload decoded once, its copies written, the upload deleted."""

from __future__ import annotations

from reeds.apart import NOT_DONE
from reeds.numbers.words import gettext_noop
from reeds.photo.copies import copy_names, write_copies
from reeds.photo.kept import COPIES, KeptPhoto, PictureState
from reeds.photo.uploads import prepared
from studio.errors import NotPossible
from studio.files import drop_upload

GONE = gettext_noop("The file of this photo is gone. Send it again.")


def settle_photo(row: KeptPhoto) -> None:
    """Decode a row's upload and keep its copies, or why it cannot be; run twice is the same as once."""
    if not row.photo_raw:
        return  # all done before
    rows = type(row)._default_manager.filter(pk=row.pk)
    storage, raw = row.photo_raw.storage, str(row.photo_raw.name)
    if row.photo_is_waiting:
        settled = rows.filter(photo_state=PictureState.WAITING).update(**_prepared(row))
        if not settled and not rows.exclude(photo_screen="").exists():  # dropped or erased meanwhile
            for name in copy_names(raw).values():
                storage.delete(name)
    for copy in ("upright", "large"):  # it is looked at and not measured
        storage.delete(copy_names(raw)[copy])
    drop_upload(row, "photo_raw")


def give_up_photo(row: KeptPhoto) -> None:
    """Say that nothing will come of a row's upload, and delete that."""
    rows = type(row)._default_manager.filter(pk=row.pk)
    rows.filter(photo_state=PictureState.WAITING).update(
        photo_state=PictureState.REFUSED, photo_refusal=NOT_DONE
    )
    if row.photo_raw:
        drop_upload(row, "photo_raw")


def _prepared(row: KeptPhoto) -> dict[str, object]:
    try:
        with row.photo_raw.open("rb") as file:
            made = prepared(file.read())
    except FileNotFoundError:
        return {"photo_state": PictureState.REFUSED, "photo_refusal": GONE}
    except NotPossible as refusal:
        return {"photo_state": PictureState.REFUSED, "photo_refusal": str(refusal)}
    names = write_copies(row.photo_raw, made["copies"])
    return {**{f"photo_{copy}": names[copy] for copy in COPIES}, "photo_state": PictureState.READY}
