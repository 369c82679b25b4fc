"""Which pages a role has; one that it has not does not exist for it: 404.

What nothing is said of belongs to students, assistants and teachers, each with the rows they may see
(studio/access.py). A guardian has only what is opened to them, and there is nothing among it that writes to
anybody: they read, and give or take back their consent.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar, cast

from django.http import Http404, HttpResponseBase

from studio.access import MemberRequest
from studio.models import Member

P = ParamSpec("P")
View = Callable[Concatenate[MemberRequest, P], HttpResponseBase]
AnyView = TypeVar("AnyView", bound=Callable[..., Any])
OPENED = "is_open_to_guardians"


def only_for(view: View[P], may: Callable[[Member], bool]) -> View[P]:
    """Answer 404 to every member who may not."""

    @wraps(view)
    def guarded(request: MemberRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if not may(request.member):
            raise Http404
        return view(request, *args, **kwargs)

    return cast("View[P]", guarded)


def teachers_only(view: View[P]) -> View[P]:
    """Open it to teachers alone: people, settings, whatever cannot be undone. No assistant has it."""
    return only_for(view, lambda member: member.leads)


def teaching_only(view: View[P]) -> View[P]:
    """Open it to whoever teaches here, assistants too: rounds, marks, answers, lessons."""
    return only_for(view, lambda member: member.teaches)


def guardians_only(view: View[P]) -> View[P]:
    """Open it to guardians alone."""
    return guardians_too(only_for(view, lambda member: member.is_guardian))


def guardians_too(view: AnyView) -> AnyView:
    """Open a view to guardians besides; without this there is none for them (studio/middleware.py asks)."""
    setattr(view, OPENED, True)
    return view


def is_closed_to(view: Callable[..., Any], member: Member) -> bool:
    """Whether this member is a guardian and nobody opened the view to guardians."""
    return member.is_guardian and not getattr(view, OPENED, False)
