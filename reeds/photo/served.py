"""A photo's copy as it goes out: a browser keeps it, but asks each time whether it may still show it."""

from __future__ import annotations

from django.db.models.fields.files import FieldFile
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils.cache import get_conditional_response, patch_cache_control
from django.utils.http import quote_etag

from studio.kept import file_answer


def kept_file(request: HttpRequest, file: FieldFile) -> HttpResponseBase | None:
    """Answer with the file, or that the browser has it (304); None where it is gone.

    A file never changes under its name, so that the name is its mark. Asked for anew each time, a photo whose
    consent is taken back is hidden at once on every phone.
    """
    mark = quote_etag(str(file.name))
    answer: HttpResponseBase | None = get_conditional_response(request, etag=mark)
    if answer is None:
        try:
            answer = file_answer(file, "image/jpeg")
        except FileNotFoundError:
            return None
    answer["ETag"] = mark
    patch_cache_control(answer, private=True, no_cache=True)
    return answer
