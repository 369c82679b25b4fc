"""One name for all static files as they are now: the worker that keeps some of them is another with each."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

from django.contrib.staticfiles.finders import get_finders
from django.contrib.staticfiles.storage import staticfiles_storage


def is_hashed() -> bool:
    """Whether an address of a file says what is in it, so that it never has to be asked for again."""
    return bool(_hashed())


def version() -> str:
    """Return a name that is another as soon as any file is: made of their hashed names.

    Where they have none it is made of each file's size and of when it was written.
    """
    said = sorted(_hashed().values()) or sorted(_as_they_lie())
    return hashlib.sha256("\n".join(said).encode()).hexdigest()[:16]


def _hashed() -> dict[str, str]:
    return dict(getattr(staticfiles_storage, "hashed_files", {}))


def _as_they_lie() -> Iterator[str]:
    for finder in get_finders():
        for path, storage in finder.list([]):
            yield f"{path} {storage.size(path)} {storage.get_modified_time(path).timestamp()}"
