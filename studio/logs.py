"""Keeps the secret part of a link out of the log, where a page that was not found is named by its address."""

from __future__ import annotations

import logging
import re

# addresses that are opened by whoever knows them
SECRET = re.compile(r"(?<=/)(join|sign-in|calendar)/[\w.:~%=-]+")
HIDDEN = r"\1/[hidden]"


class HideLinks(logging.Filter):
    """Lets every line through, without what would open a link."""

    def filter(self, record: logging.LogRecord) -> bool:
        said = record.getMessage()
        hidden = SECRET.sub(HIDDEN, said)
        if hidden != said:
            record.msg, record.args = hidden, ()
        return True
