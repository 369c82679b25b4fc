"""A push service of the tests' own on this machine, and a browser's half of the keys (RFC 8030, 8291, 8292).

What comes is opened here by code that shares nothing with ours but cryptography's primitives.
"""

from __future__ import annotations

import base64
import datetime as dt
import hmac
import ipaddress
import json
import os
import ssl
import threading
from contextlib import contextmanager
from hashlib import sha256
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.x509.oid import NameOID


def text_of(given):
    return base64.urlsafe_b64encode(given).decode().rstrip("=")


def bytes_of(text):
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def point_of(key):
    return key.public_key().public_bytes(
        serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint
    )


class Browser:
    """What a browser holds of one subscription."""

    def __init__(self, endpoint, key=None, secret=None):
        self.endpoint = endpoint
        self.key = key or ec.generate_private_key(ec.SECP256R1())
        self.secret = secret or os.urandom(16)

    @property
    def gives(self):
        """What it gives to a page: the fields of the form."""
        p256dh = text_of(point_of(self.key))
        return {"endpoint": self.endpoint, "p256dh": p256dh, "auth": text_of(self.secret)}

    def opened(self, body):
        """Return what was sealed for it (RFC 8291, section 3.4; RFC 8188, section 2)."""
        salt, size, length = body[:16], int.from_bytes(body[16:20], "big"), body[20]
        theirs, sealed = body[21 : 21 + length], body[21 + length :]
        assert len(sealed) <= size
        assert len(body) <= 4096
        shared = self.key.exchange(
            ec.ECDH(), ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), theirs)
        )
        first = hmac.digest(self.secret, shared, sha256)
        material = hmac.digest(first, b"WebPush: info\0" + point_of(self.key) + theirs + b"\1", sha256)
        second = hmac.digest(salt, material, sha256)
        key = hmac.digest(second, b"Content-Encoding: aes128gcm\0\1", sha256)[:16]
        nonce = hmac.digest(second, b"Content-Encoding: nonce\0\1", sha256)[:12]
        padded = AESGCM(key).decrypt(nonce, sealed, None).rstrip(b"\0")
        assert padded.endswith(b"\2")
        return padded[:-1]


def claims_of(header, public_key):
    """Return what a signature claims, once it holds for this key (RFC 8292, RFC 7515)."""
    scheme, _space, rest = header.partition(" ")
    parts = dict(part.strip().split("=", 1) for part in rest.split(","))
    assert (scheme, parts["k"]) == ("vapid", public_key)
    said, _dot, signature = parts["t"].rpartition(".")
    raw = bytes_of(signature)
    assert len(raw) == 64
    proof = encode_dss_signature(int.from_bytes(raw[:32], "big"), int.from_bytes(raw[32:], "big"))
    key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), bytes_of(public_key))
    key.verify(proof, said.encode(), ec.ECDSA(hashes.SHA256()))  # raises where it does not hold
    head, claims = (json.loads(bytes_of(part)) for part in said.split("."))
    assert head == {"typ": "JWT", "alg": "ES256"}
    return claims


def certificate(folder):
    """Write a key and a certificate for this machine, which is its own authority; return the file of both."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "push service of a test")])
    names = [x509.DNSName("localhost"), x509.IPAddress(ipaddress.ip_address("127.0.0.1"))]
    now = dt.datetime.now(dt.UTC)
    made = x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
    made = made.not_valid_before(now - dt.timedelta(days=1)).not_valid_after(now + dt.timedelta(days=1))
    made = made.add_extension(x509.SubjectAlternativeName(names), critical=False)
    made = made.add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
    made = made.add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    pem = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    file = folder / "push.pem"
    file.write_bytes(pem + made.sign(key, hashes.SHA256()).public_bytes(serialization.Encoding.PEM))
    return file


class PushService:
    """Takes notices over TLS and answers each address as it is told to, 201 where nothing is."""

    def __init__(self, file):
        self.got, self.answers, self.leads_to = [], {}, ""
        service = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self):
                body = self.rfile.read(int(self.headers["Content-Length"]))
                service.got.append((self.path, dict(self.headers), body))
                self.send_response(service.answers.get(self.path, 201))
                if service.leads_to:
                    self.send_header("Location", service.leads_to)
                self.send_header("Content-Length", "0")
                self.end_headers()

            def log_message(self, *_said):
                pass

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(file)
        self.server.socket = context.wrap_socket(self.server.socket, server_side=True)
        self.address = f"https://localhost:{self.server.server_port}"
        serving = {"target": self.server.serve_forever, "kwargs": {"poll_interval": 0.02}}
        threading.Thread(**serving, daemon=True).start()

    def browser(self, name="one"):
        return Browser(f"{self.address}/push/{name}")

    def came_to(self, browser):
        """Return what was sealed for a browser, opened."""
        path = browser.endpoint.removeprefix(self.address)
        return [json.loads(browser.opened(body)) for to, _headers, body in self.got if to == path]

    def end(self):
        self.server.shutdown()
        self.server.server_close()


@contextmanager
def running(folder, monkeypatch, settings):
    """Run a service whom this process trusts, by a certificate, and may ask though it lies inside."""
    file = certificate(folder)
    monkeypatch.setenv("SSL_CERT_FILE", str(file))
    settings.PUSH_TO_INSIDE, settings.DATA_DIR = True, folder
    service = PushService(file)
    try:
        yield service
    finally:
        service.end()
