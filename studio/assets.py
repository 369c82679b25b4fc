"""Static files with hashed names; each script and sheet of ours with all that it imports in it."""

from __future__ import annotations

import posixpath
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from django.contrib.staticfiles.storage import HashedFilesMixin
from django.core.files.base import ContentFile
from whitenoise.storage import CompressedManifestStaticFilesStorage

from studio import bundles

# Django rewrites imports by pattern, in comments too: a type comment of a library's script would be taken
# for an import of a file that is not shipped. So only below our own folder; theirs keep what they hold.
# There only imports that are for later are left: what stands at a module's head is in it already
_OUR_SCRIPTS = "js/*.js"
_LATER = HashedFilesMixin._js_module_import_aggregation_patterns[1][-1:]  # type: ignore[attr-defined]

Files = Mapping[str, tuple[Any, str]]  # by name: the storage it lies in, and where


class Whole:
    """The files as they are hashed: looked at as a storage, it gives each with all that it imports."""

    def __init__(self, files: Files) -> None:
        self.files = files
        self.read = cache(self._read)
        self.whole = cache(self._whole)  # Django asks several times, until all names are settled

    def _read(self, name: str) -> str:
        if name not in self.files:
            raise ValueError(f"{name} is imported and is not there")
        storage, path = self.files[name]
        with storage.open(path) as file:
            return str(file.read().decode())

    def _whole(self, name: str) -> bytes:
        of = bundles.of_script if name.endswith(".js") else bundles.of_sheet
        return of(name, self.read).encode()

    def open(self, name: str) -> ContentFile[bytes]:
        return ContentFile(self.whole(name))


def _is_ours(name: str) -> bool:
    folder, kind = name.partition("/")[0], posixpath.splitext(name)[1]
    return (folder, kind) in (("js", ".js"), ("css", ".css"))


class HashedStaticFiles(CompressedManifestStaticFilesStorage):
    patterns = (*HashedFilesMixin.patterns, (_OUR_SCRIPTS, _LATER))

    def post_process(self, paths: Files, *args: Any, **options: Any) -> Iterator[Any]:  # noqa: ANN401  # as Django has it
        whole = Whole(paths)
        bundled = {name: (whole, name) if _is_ours(name) else place for name, place in paths.items()}
        yield from super().post_process(bundled, *args, **options)
