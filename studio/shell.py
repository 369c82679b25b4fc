"""The files that a page kept on a phone needs beside it, and one name for all of them as they are now."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

from django.contrib.staticfiles.finders import get_finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.templatetags.static import static

# of the pages that are kept (studio/offline.py); tests/studio/test_shell.py finds what is missing here
OF_KEPT_PAGES = (
    "icon.svg",
    "css/base.css",
    "css/marks.css",
    "css/reeds.css",
    "css/send.css",
    "css/shown.css",
    "css/sound.css",
    "css/tokens.css",
    "django_htmx/htmx-2.min.js",
    "js/offline/",
    "js/record/",
    "js/send/",
)


def files() -> list[str]:
    """Return the addresses of those files."""
    return [static(name) for name in _names() if name.startswith(OF_KEPT_PAGES)]


def version() -> str:
    """Return a name that is another as soon as any file of ours is: made of their hashed names."""
    hashed = getattr(staticfiles_storage, "hashed_files", None)
    return _mark(sorted(hashed.values())) if hashed else _mark(_as_they_lie())


def _names() -> list[str]:
    return sorted(path for path, _said in _found())


def _as_they_lie() -> list[str]:
    """Without hashed names: each file with its size and when it was written."""
    return sorted(f"{path} {said}" for path, said in _found())


def _found() -> Iterator[tuple[str, str]]:
    for finder in get_finders():
        for path, storage in finder.list([]):
            if path.startswith(("css/", "js/", "icon", *OF_KEPT_PAGES)):
                yield path, f"{storage.size(path)} {storage.get_modified_time(path).timestamp()}"


def _mark(said: list[str]) -> str:
    return hashlib.sha256("\n".join(said).encode()).hexdigest()[:16]


def is_hashed() -> bool:
    """Whether an address of a file says what is in it, so that it never has to be asked for again."""
    return bool(getattr(staticfiles_storage, "hashed_files", None))
