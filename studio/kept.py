"""A kept file as an answer: sent by us or, once we let it through, by a proxy of ours or the bucket."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from django.conf import settings
from django.db.models.fields.files import FieldFile
from django.http import FileResponse, HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.utils.http import content_disposition_header


def is_sent_by_others() -> bool:
    """Whether kept files go out past us."""
    return bool(settings.X_ACCEL or settings.S3_BUCKET)


def file_answer(
    file: FieldFile, content_type: str, *, filename: str = "", as_attachment: bool = False
) -> HttpResponseBase:
    """Answer with a file; who may have it was asked before. FileNotFoundError where it is gone.

    With X_ACCEL set the answer names the file alone, and nginx puts it in its place, or the part asked for.
    One in a bucket is fetched from there, by an address that holds for some minutes.
    """
    if settings.S3_BUCKET:
        return _led_to_bucket(file, content_type, content_disposition_header(as_attachment, filename) or "")
    opened = file.open("rb")
    if not settings.X_ACCEL:
        return FileResponse(opened, as_attachment=as_attachment, filename=filename, content_type=content_type)
    opened.close()
    answer = HttpResponse(content_type=content_type)
    answer["X-Accel-Redirect"] = settings.X_ACCEL + quote(str(file.name))
    if disposition := content_disposition_header(as_attachment, filename):
        answer["Content-Disposition"] = disposition
    return answer


def _led_to_bucket(file: FieldFile, content_type: str, disposition: str) -> HttpResponseBase:
    """Lead to the bucket; no browser keeps where to, since that does not hold for long."""
    bucket: Any = file.storage
    if not bucket.exists(str(file.name)):
        raise FileNotFoundError(file.name)
    answer = HttpResponseRedirect(bucket.address_for(str(file.name), content_type, disposition))
    answer["Cache-Control"] = "no-store"
    return answer


def whole_answer(file: FieldFile, content_type: str) -> HttpResponseBase:
    """Answer with a small file ourselves, wherever it is kept."""
    if not settings.S3_BUCKET:
        return file_answer(file, content_type)
    with file.open("rb") as opened:
        return HttpResponse(opened.read(), content_type=content_type)
