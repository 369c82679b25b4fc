"""A mail server that keeps what it is given, and can be taken away and put back on the same port."""

import re
import socketserver
import threading

from tests.torture.ports import own_port

ABOUT = re.compile(rb"^Subject: (.*?)\r?$", re.MULTILINE)


class _Letter(socketserver.StreamRequestHandler):
    timeout = 60

    def handle(self):
        self._say("220 ready")
        while line := self.rfile.readline():
            word = line[:4].upper()
            if word == b"DATA":
                self._say("354 go on")
                self.server.kept.append(self._body())
            self._say("221 bye" if word == b"QUIT" else "250 ok")
            if word == b"QUIT":
                return

    def _say(self, text):
        self.wfile.write(text.encode() + b"\r\n")

    def _body(self):
        lines = []
        while (line := self.rfile.readline()).rstrip(b"\r\n") != b".":
            if not line:
                break
            lines.append(line)
        return b"".join(lines)


class _Server(socketserver.ThreadingTCPServer):
    allow_reuse_address = daemon_threads = True

    def handle_error(self, *_given):
        """Say nothing of a client that was killed while it spoke."""


class Mail:
    """Up after `start`, away after `stop`; `letters` are all it was ever given."""

    def __init__(self):
        self.letters, self.port, self._server = [], own_port(), None
        self.start()

    def start(self):
        if self._server is None:
            self._server = _Server(("127.0.0.1", self.port), _Letter)
            self._server.kept = self.letters
            threading.Thread(target=self._server.serve_forever, args=[0.1], daemon=True).start()

    def stop(self):
        if self._server is not None:
            self._server.shutdown()
            self._server.server_close()
            self._server = None

    @property
    def subjects(self):
        return [found.group(1).decode() for letter in self.letters if (found := ABOUT.search(letter))]
