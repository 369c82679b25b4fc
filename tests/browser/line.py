"""The line between the phones of a test and the studio, which can be cut."""

from __future__ import annotations

import contextlib
import socket


class Line:
    """The line to the server. Once cut, the server itself closes each connection without a word.

    Cut there, since a switch of the browser does not reach its worker, and a page that is closed can still
    send what routes of Playwright should hold back.
    """

    LOST = (
        "ERR_INTERNET_DISCONNECTED",
        "ERR_EMPTY_RESPONSE",
        "ERR_CONNECTION_RESET",
        "ERR_CONNECTION_CLOSED",
        "ERR_SOCKET_NOT_CONNECTED",
        "htmx:sendError",
        "htmx:afterRequest",
    )

    def __init__(self, server):
        self.server, self.finish = server, server.finish_request
        self.open = set()
        server.finish_request = self.serve

    def serve(self, request, address):
        """Answer on a connection for as long as it is kept, which may be many requests."""
        self.open.add(request)
        try:
            self.finish(request, address)
        finally:
            self.open.discard(request)

    def cut(self, context=None, instead=lambda *_request: None):
        """Cut it; `context` is a browser that is to know, `instead` what the server does when called."""
        self.server.finish_request = instead
        for connection in list(self.open):
            with contextlib.suppress(OSError):
                connection.shutdown(socket.SHUT_RDWR)
        if context:
            context.set_offline(True)

    def mend(self, context=None):
        self.server.finish_request = self.serve
        if context:
            context.set_offline(False)

    def leave(self):
        self.server.finish_request = self.finish
