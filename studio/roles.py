"""Pages that only a teaching member has; for others they do not exist."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, cast

from django.http import Http404, HttpResponseBase

from studio.access import MemberRequest

P = ParamSpec("P")
View = Callable[Concatenate[MemberRequest, P], HttpResponseBase]


def teachers_only(view: View[P]) -> View[P]:
    """Answer 404 to everybody who does not teach in this studio."""

    @wraps(view)
    def guarded(request: MemberRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if not request.member.teaches:
            raise Http404
        return view(request, *args, **kwargs)

    return cast("View[P]", guarded)
