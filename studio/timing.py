"""How long things take: slow queries go to the log, and with DEBUG each page says what its time went to."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from django.conf import settings
from django.core.exceptions import MiddlewareNotUsed
from django.db.backends.base.base import BaseDatabaseWrapper
from django.http import HttpRequest, HttpResponse
from django.template.backends.django import DjangoTemplates, Template

logger = logging.getLogger("studio.timing")
SLOW_S = 0.5
SHOWN = 2000  # letters of a query
SPENT: ContextVar[dict[str, float] | None] = ContextVar("SPENT", default=None)
WITHIN: ContextVar[frozenset[str]] = ContextVar("WITHIN", default=frozenset())


@contextmanager
def _spending(what: str) -> Iterator[None]:
    """Add the time inside to what the request spent on this; within one of its kind it is in that already."""
    spent, within = SPENT.get(), WITHIN.get()
    if spent is None or what in within:
        yield
        return
    began, token = time.perf_counter(), WITHIN.set(within | {what})
    try:
        yield
    finally:
        WITHIN.reset(token)
        spent[what] = spent.get(what, 0.0) + time.perf_counter() - began


def watch_queries(connection: BaseDatabaseWrapper, **_signal: object) -> None:
    """Time every query of a connection, which keeps its wrappers when it is made anew."""
    if timed not in connection.execute_wrappers:
        connection.execute_wrappers.append(timed)


def timed(
    execute: Callable[..., Any], sql: str, params: object, many: bool, context: dict[str, Any]
) -> object:
    """Run a query; a slow one is told as it is written, with placeholders instead of what people sent."""
    began = time.perf_counter()
    try:
        with _spending("db"):
            return execute(sql, params, many, context)
    finally:
        took_s = time.perf_counter() - began
        if took_s > SLOW_S:
            logger.warning("slow query, %.1f s: %s", took_s, sql[:SHOWN])


class TimedTemplate(Template):
    """A page's template; what is included counts with it, and so do the queries that it makes."""

    def render(self, context: Any = None, request: HttpRequest | None = None) -> Any:  # noqa: ANN401  # as Django has it
        with _spending("template"):
            return super().render(context, request)


class TimedTemplates(DjangoTemplates):
    """Django's templates, timed; only with DEBUG."""

    def get_template(self, template_name: str) -> TimedTemplate:
        return TimedTemplate(super().get_template(template_name).template, self)


def server_timing(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Say in a header, which browsers draw, where the time went; how long a page takes may tell of others."""
    if not settings.DEBUG:
        raise MiddlewareNotUsed

    def answer(request: HttpRequest) -> HttpResponse:
        spent: dict[str, float] = {"db": 0.0, "template": 0.0}
        token = SPENT.set(spent)
        try:
            with _spending("total"):
                response = get_response(request)
        finally:
            SPENT.reset(token)
        response.headers["Server-Timing"] = ", ".join(
            f"{what};dur={s * 1000:.1f}" for what, s in spent.items()
        )
        return response

    return answer
