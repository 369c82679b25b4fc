"""A photo's copy as it goes out: a browser keeps it, but asks each time whether it may still show it."""

from __future__ import annotations

from django.conf import settings
from django.db.models.fields.files import FieldFile
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils.cache import get_conditional_response, patch_cache_control
from django.utils.http import quote_etag

from studio.kept import file_answer, whole_answer


def kept_file(request: HttpRequest, file: FieldFile, *, by_us: bool = False) -> HttpResponseBase | None:
    """Answer with the file, or that the browser has it (304); None where it is gone.

    From a bucket it is fetched there, and what the browser has of that is the bucket's to say; what is
    small or kept by a phone for rooms without a signal goes out `by_us`.

    A file never changes under its name, so that the name is its mark. Asked for anew each time, a photo whose
    consent is taken back is hidden at once on every phone.
    """
    if settings.S3_BUCKET and not by_us:
        return _led(file)
    mark = quote_etag(str(file.name))
    answer: HttpResponseBase | None = get_conditional_response(request, etag=mark)
    if answer is None:
        try:
            answer = whole_answer(file, "image/jpeg") if by_us else file_answer(file, "image/jpeg")
        except FileNotFoundError:
            return None
    answer["ETag"] = mark
    patch_cache_control(answer, private=True, no_cache=True)
    return answer


def _led(file: FieldFile) -> HttpResponseBase | None:
    try:
        return file_answer(file, "image/jpeg")
    except FileNotFoundError:
        return None
