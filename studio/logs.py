"""What gets into the log: every line with its request, none with a secret link or with what people sent."""

from __future__ import annotations

import datetime as dt
import json
import logging
import re
import traceback
from contextvars import ContextVar
from types import TracebackType
from typing import Any

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.db import OperationalError
from django.http import HttpRequest
from django.views.debug import SafeExceptionReporterFilter

# addresses that are opened by whoever knows them
SECRET = re.compile(r"(?<=/)(join|sign-in|address|calendar|reset/key)/[\w.:~%=-]+")
HIDDEN = r"\1/[hidden]"
REQUEST: ContextVar[str] = ContextVar("REQUEST", default="")
# errors of the machine, whose words are not those of a person; any other may repeat what was typed
OURS = (OperationalError, ImproperlyConfigured, MemoryError)
ErrorInfo = tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]


def request_is_over(**_signal: object) -> None:
    """Have what this thread says from now on belong to no request."""
    REQUEST.set("")


class HideLinks(logging.Filter):
    """Lets every line through, without what would open a link."""

    def filter(self, record: logging.LogRecord) -> bool:
        said = record.getMessage()
        hidden = SECRET.sub(HIDDEN, said)
        if hidden != said:
            record.msg, record.args = hidden, ()
        return True


class RefusalsInALine(logging.Filter):
    """Lets a request that was refused for what it is be one line, without where in Django it was seen."""

    def filter(self, record: logging.LogRecord) -> bool:
        if record.name.startswith("django.security."):
            record.exc_info = record.exc_text = None
        return True


class Plain(logging.Formatter):
    """A line for people: before it the request it belongs to, after it where an error came from."""

    def format(self, record: logging.LogRecord) -> str:
        said = super().format(record)
        return f"[{REQUEST.get()}] {said}" if REQUEST.get() else said

    def formatException(self, ei: ErrorInfo) -> str:  # noqa: N802  # as logging names it
        """Return the traceback; the error's own words only where they cannot be those of a person."""
        if settings.DEBUG or ei[1] is None:
            return super().formatException(ei)
        return "".join(line for error in _causes(ei[1]) for line in _told(error)).rstrip()


def _causes(error: BaseException | None) -> list[BaseException]:
    """Return the error after those it came from."""
    found: list[BaseException] = []
    while error is not None and error not in found:
        found.insert(0, error)
        error = error.__cause__ or error.__context__
    return found


def _told(error: BaseException) -> list[str]:
    words = f": {error}" if isinstance(error, OURS) else ""
    where = traceback.format_tb(error.__traceback__)
    return ["Traceback (most recent call last):\n", *where, f"{type(error).__qualname__}{words}\n"]


class Json(Plain):
    """The same as one JSON object a line, for programs."""

    def format(self, record: logging.LogRecord) -> str:
        line = {
            "at": dt.datetime.fromtimestamp(record.created, dt.UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "request": REQUEST.get() or None,
            "said": record.getMessage(),
            "error": self.formatException(record.exc_info) if record.exc_info else None,
        }
        return json.dumps({key: value for key, value in line.items() if value is not None})


class HideWhatWasSent(SafeExceptionReporterFilter):
    """Django's page for errors, shown with DEBUG alone: without form fields and the values of variables."""

    def get_post_parameters(self, request: HttpRequest | None) -> dict[str, Any]:
        sent = {} if request is None else request.POST
        return dict.fromkeys(sent, self.cleansed_substitute)

    def get_traceback_frame_variables(self, request: HttpRequest, tb_frame: Any) -> Any:  # noqa: ANN401  # as Django has it
        return [(name, self.cleansed_substitute) for name in tb_frame.f_locals]
