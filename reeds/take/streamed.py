"""A recording's sound sent to a player: whole or the part it asks for, from a file that may be gone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import IO

from django.db.models.fields.files import FieldFile
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.utils.cache import patch_cache_control

from reeds.take.ranges import NoSuchPart, part_asked
from studio.kept import file_answer, is_sent_by_others

BLOCK = 64 * 1024


def streamed(request: HttpRequest, sound: FieldFile, content_type: str) -> HttpResponseBase:
    """Answer with the sound; 404 where its file is gone. Who may hear it was asked before."""
    try:
        if is_sent_by_others():  # who send the part asked for as well
            return _with_headers(file_answer(sound, content_type))
        file = sound.open("rb")
    except FileNotFoundError:
        raise Http404 from None
    return _with_headers(_sent(request, file, sound.size, content_type))


def _sent(request: HttpRequest, file: IO[bytes], size: int, content_type: str) -> HttpResponseBase:
    try:
        part = part_asked(request.headers.get("Range", ""), size)
    except NoSuchPart:
        file.close()
        return HttpResponse(status=416, headers={"Content-Range": f"bytes */{size}"})
    first, last = part or (0, size - 1)
    answer = StreamingHttpResponse(_Part(file, first, last), content_type=content_type)
    answer["Content-Length"] = str(last - first + 1)
    if part:
        answer.status_code = 206
        answer["Content-Range"] = f"bytes {first}-{last}/{size}"
    return answer


def _with_headers(answer: HttpResponseBase) -> HttpResponseBase:
    answer["Accept-Ranges"] = "bytes"
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Disposition"] = "inline"
    patch_cache_control(answer, private=True, no_cache=True)  # a consent may be taken back
    return answer


class _Part:
    """A part of a file, block by block; it closes the file also where nobody reads it (HEAD)."""

    def __init__(self, file: IO[bytes], first: int, last: int) -> None:
        self.file, self.first, self.last = file, first, last

    def __iter__(self) -> Iterator[bytes]:
        self.file.seek(self.first)
        left = self.last - self.first + 1
        while left > 0 and (block := self.file.read(min(BLOCK, left))):
            left -= len(block)
            yield block

    def close(self) -> None:
        self.file.close()
