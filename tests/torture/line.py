"""The line between a phone and the studio: bytes pass, slowly, until it is cut, be it amid a request."""

import contextlib
import socket
import threading
import time

PIECE = 16 * 1024
PAUSE_S = 0.004  # after each piece: some 4 MB a second, so that a photo is on its way for a while


class Line:
    """A door of its own on loopback behind which the studio stands."""

    def __init__(self, studio_port):
        self.to, self.is_cut, self.left, self.cuts = studio_port, False, None, 0
        self.open, self.lock = set(), threading.Lock()
        self.door = socket.create_server(("127.0.0.1", 0))
        self.port = self.door.getsockname()[1]
        threading.Thread(target=self._let_in, daemon=True).start()

    def cut(self, after=0):
        """Cut it now, or once so many bytes more have gone up."""
        self.cuts += 1
        if after:
            self.left = after
        else:
            self._cut()

    def mend(self):
        self.is_cut, self.left = False, None

    def close(self):
        self._cut()
        self.door.close()

    def _cut(self):
        self.is_cut, self.left = True, None
        with self.lock:
            for one in self.open:
                with contextlib.suppress(OSError):
                    one.shutdown(socket.SHUT_RDWR)

    def _let_in(self):
        while True:
            try:
                phone, _address = self.door.accept()
            except OSError:
                return  # closed
            if self.is_cut:
                phone.close()
                continue
            studio = socket.create_connection(("127.0.0.1", self.to))
            with self.lock:
                self.open |= {phone, studio}
            for ends in ((phone, studio, True), (studio, phone, False)):
                threading.Thread(target=self._carry, args=ends, daemon=True).start()

    def _carry(self, start, end, is_up):
        with contextlib.suppress(OSError):
            while not self.is_cut and (piece := start.recv(PIECE)):
                if is_up and self._is_used_up(len(piece)):
                    self._cut()
                    break
                end.sendall(piece)
                time.sleep(PAUSE_S)
        for one in (start, end):
            with contextlib.suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)
            one.close()
        with self.lock:
            self.open -= {start, end}

    def _is_used_up(self, more):
        if self.left is None:
            return False
        self.left -= more
        return self.left < 0
