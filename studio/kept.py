"""A kept file as an answer: sent by us or, where a proxy of ours may, by that, once we let it through."""

from __future__ import annotations

from urllib.parse import quote

from django.conf import settings
from django.db.models.fields.files import FieldFile
from django.http import FileResponse, HttpResponse
from django.http.response import HttpResponseBase
from django.utils.http import content_disposition_header


def file_answer(
    file: FieldFile, content_type: str, *, filename: str = "", as_attachment: bool = False
) -> HttpResponseBase:
    """Answer with a file; who may have it was asked before. FileNotFoundError where it is gone.

    With X_ACCEL set the answer names the file alone, and nginx puts it in its place, or the part asked for.
    """
    opened = file.open("rb")
    if not settings.X_ACCEL:
        return FileResponse(opened, as_attachment=as_attachment, filename=filename, content_type=content_type)
    opened.close()
    answer = HttpResponse(content_type=content_type)
    answer["X-Accel-Redirect"] = settings.X_ACCEL + quote(str(file.name))
    if disposition := content_disposition_header(as_attachment, filename):
        answer["Content-Disposition"] = disposition
    return answer
