"""When database or files cannot be written or read: a sentence and 'come again', not an error page."""

from __future__ import annotations

import errno
import logging

from django.db import (
    DatabaseError,
    DataError,
    IntegrityError,
    InternalError,
    NotSupportedError,
    ProgrammingError,
)
from django.http import HttpRequest, HttpResponse
from django.template.loader import get_template
from django.utils.deprecation import MiddlewareMixin
from django.utils.translation import gettext_noop as _
from django.views.defaults import bad_request

from studio.errors import FilesUnreachable
from studio.only_read import met

logger = logging.getLogger("studio.trouble")
AGAIN_S = "30"
NUL = "\0"
# what is wrong with a question or a row and not with the database
OURS = (IntegrityError, DataError, ProgrammingError, InternalError, NotSupportedError)
ONLY_READ = _("The server can only be read at the moment. What you sent was not kept: send it again later.")
# what SQLite and PostgreSQL say, and what a person is told
SENTENCES = {
    "locked": _(
        "The server is busy at the moment. What you sent was not kept: wait a little, send it again."
    ),
    "readonly": ONLY_READ,
    "read-only": ONLY_READ,
    "full": _(
        "The server's disk is full. What you sent was not kept: tell your teacher, send it again later."
    ),
}
# what the system says of a file that cannot be written: no room, or not allowed
NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
NOT_ALLOWED = {errno.EROFS, errno.EACCES, errno.EPERM}
BROKEN = _("The server cannot reach its data at the moment. Tell your teacher, and try again later.")


def sentence_for(error: DatabaseError | OSError) -> str:
    """Return what is told of an error of the database, or of a file that cannot be written."""
    if isinstance(error, FilesUnreachable):
        return BROKEN
    if isinstance(error, OSError):
        return SENTENCES["full"] if error.errno in NO_ROOM else ONLY_READ
    said = str(error).lower()
    return next((sentence for word, sentence in SENTENCES.items() if word in said), BROKEN)


def told(error: DatabaseError | OSError) -> HttpResponse:
    """Answer with the sentence, and a line in the log."""
    if isinstance(error, DatabaseError):
        met(error)
    logger.error("%s: %s", type(error).__name__, getattr(error, "strerror", None) or error)
    # without the request: whoever asks for it asks the database
    page = get_template("503.html").render({"sentence": sentence_for(error)})
    return HttpResponse(page, status=503, headers={"Retry-After": AGAIN_S})


def _holds_nul(request: HttpRequest) -> bool:
    """Tell whether something was sent that PostgreSQL's text cannot hold and no keyboard types."""
    values = (
        value for sent in (request.GET, request.POST) for _name, given in sent.lists() for value in given
    )
    return any(NUL in value for value in values)


class DatabaseTrouble(MiddlewareMixin):
    """Answers 503 with a sentence where database or disk fail; a wrong question is an error of ours."""

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if isinstance(error, FilesUnreachable):
            return told(error)
        if isinstance(error, OSError) and error.errno in NO_ROOM | NOT_ALLOWED:
            return told(error)
        if isinstance(error, DataError) and _holds_nul(request):
            return bad_request(request, error)
        if not isinstance(error, DatabaseError) or isinstance(error, OURS):
            return None
        return told(error)
