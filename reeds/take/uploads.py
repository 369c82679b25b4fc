"""A recording that somebody sends, looked at before it is kept; the worker decodes it."""

from __future__ import annotations

from django.core.files import File

from studio.errors import NotPossible

EXTENSIONS = {
    "audio/mp4": ".m4a",
    "audio/x-m4a": ".m4a",
    "audio/aac": ".aac",
    "video/mp4": ".mp4",
    "audio/webm": ".webm",
    "video/webm": ".webm",
    "audio/ogg": ".ogg",
    "application/ogg": ".ogg",
    "audio/mpeg": ".mp3",
    "audio/wav": ".wav",
    "audio/x-wav": ".wav",
    "audio/wave": ".wav",
    "audio/flac": ".flac",
    "audio/x-flac": ".flac",
}


def type_of(upload: File[bytes]) -> str:
    """Return the upload's media type if it is one of a recording's, else ''."""
    named = str(getattr(upload, "content_type", "") or "").split(";")[0].lower()
    return named if named in EXTENSIONS else ""


def check_size(upload: File[bytes], most_bytes: int, *, empty: str, larger: str) -> None:
    """Raise NotPossible with one of the two sentences if it is empty or larger than so many bytes."""
    if not upload.size:
        raise NotPossible(empty)
    if upload.size > most_bytes:
        raise NotPossible(larger)
