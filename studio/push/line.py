"""The one way out to an address that somebody gave us: https, to a public machine, once, for a short time.

A browser names its push service, and a browser can be made to name anything. So the name is looked up here,
each address of it must be one of the public Internet, and the connection goes to the address that was looked
at: a name that says something else the next moment leads nowhere. Nothing leads on from there.
"""

from __future__ import annotations

import contextlib
import ipaddress
import socket
import ssl
import threading
from http.client import HTTPException, HTTPSConnection
from urllib.parse import urlsplit

from django.conf import settings

HTTPS_PORT = 443
# for all of it: a service that says a letter a second is let go of
LONGEST_S = 10.0

Address = ipaddress.IPv4Address | ipaddress.IPv6Address


class NotOutside(Exception):
    """The address is none of the public Internet."""


def is_outside(address: Address) -> bool:
    """Whether it is of the public Internet, and so is any older address that is written within it."""
    within = [address]
    if isinstance(address, ipaddress.IPv6Address):
        older = [address.ipv4_mapped, address.sixtofour, *(address.teredo or ())]
        if address in ipaddress.ip_network("64:ff9b::/96"):  # RFC 6052
            older.append(ipaddress.IPv4Address(int(address) & 0xFFFFFFFF))
        within += [one for one in older if one is not None]
    return all(one.is_global and not one.is_multicast for one in within)


def may_be_asked(endpoint: str) -> bool:
    """Whether an address is of the kind that a push service has, as far as can be told without asking."""
    try:
        parts = urlsplit(endpoint)
        host, port = parts.hostname or "", parts.port
    except ValueError:
        return False
    if parts.scheme != "https" or not host or parts.username is not None or parts.fragment:
        return False
    if not endpoint.isascii() or not endpoint.isprintable() or " " in endpoint:
        return False
    return settings.PUSH_TO_INSIDE or (port in (None, HTTPS_PORT) and _is_no_inner_name(host))


def _is_no_inner_name(host: str) -> bool:
    try:
        return is_outside(ipaddress.ip_address(host))
    except ValueError:
        name = host.rstrip(".")
        return "." in name and not name.endswith((".localhost", ".local", ".internal"))


def post(endpoint: str, body: bytes, headers: dict[str, str]) -> int:
    """Send to an address and return the status it answers with; OSError or HTTPException where none comes."""
    parts = urlsplit(endpoint)
    line = _Line(parts.hostname or "", parts.port or HTTPS_PORT)
    late = threading.Timer(LONGEST_S, line.cut)
    late.start()
    try:
        line.request("POST", parts._replace(scheme="", netloc="").geturl() or "/", body, headers)
        return line.getresponse().status
    except (ValueError, AttributeError) as error:  # what a connection may say that is cut in the midst of it
        if isinstance(error, OSError) or not line.is_cut:
            raise
        raise HTTPException(str(error)) from error
    finally:
        late.cancel()
        line.close()


class _Line(HTTPSConnection):
    """A connection to the very address that was looked at, that another thread can cut."""

    def __init__(self, host: str, port: int) -> None:
        self.trusting, self.is_cut = ssl.create_default_context(), False
        super().__init__(host, port, timeout=LONGEST_S, context=self.trusting)

    def connect(self) -> None:
        bare = _called(_looked_up(self.host, self.port), self.port)
        safe = self.trusting.wrap_socket(bare, server_hostname=self.host, do_handshake_on_connect=False)
        self.sock = safe
        if self.is_cut:
            raise TimeoutError
        safe.do_handshake()

    def cut(self) -> None:
        """End it, whatever it waits for."""
        self.is_cut = True
        if isinstance(self.sock, socket.socket):
            # the bare socket's own: the other thread then reads its end
            socket.socket.shutdown(self.sock, socket.SHUT_RDWR)


def _looked_up(host: str, port: int) -> list[Address]:
    """Return the addresses of a name, each of which must lie outside."""
    told = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    found = [ipaddress.ip_address(one[4][0]) for one in told]
    if not settings.PUSH_TO_INSIDE and not all(map(is_outside, found)):
        raise NotOutside(host)
    return found


def _called(addresses: list[Address], port: int) -> socket.socket:
    """Return a connection to the first of them that answers."""
    *others, last = addresses
    for address in others:
        with contextlib.suppress(OSError):
            return socket.create_connection((str(address), port), LONGEST_S)
    return socket.create_connection((str(last), port), LONGEST_S)
