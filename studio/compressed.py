"""Pages go over the wire compressed; photos, recordings and files that one takes away as they are."""

from __future__ import annotations

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware

WORDS = ("text/html", "image/svg+xml")


class CompressedPages(GZipMiddleware):
    """Compress pages and drawings alone: a JPEG gains nothing, and a player asks for parts of a recording.

    A page holds the key of its forms, and words that whoever leads a reader here may choose: how short it
    gets would tell one by the other (BREACH). Django masks the key anew in each page and lengthens each
    answer by up to 100 random bytes, which makes that guessing a matter of very many pages.
    """

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        kind = response.headers.get("Content-Type", "").partition(";")[0]
        return super().process_response(request, response) if kind in WORDS else response
