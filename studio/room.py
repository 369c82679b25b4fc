"""Room for all frames of a request in one piece: Python gives frames back to the system, and takes them anew.

CPython keeps the frames of a thread in pieces of 16 KB. One that is full has another mapped beside it, which
is given back as soon as the call returns; where a page's busiest calls lie just at an edge, that is a
thousand times a page, and half of its time. So the outermost call asks for a stack larger than it needs: the
piece in which it lies is twice as large, and what it does not use is room for all calls below it.
"""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

# places of 8 bytes: the least piece that holds them is 256 KB, and half of it stays free. The deepest of our
# pages takes 25 KB
STACK = 2**14


def roomy(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Answer in a frame below which there is room."""

    def answer(request: HttpRequest) -> HttpResponse:
        return get_response(request)

    answer.__code__ = answer.__code__.replace(co_stacksize=STACK)
    return answer
