"""A visitor of a site that runs behind a proxy: asks as the proxy does, keeps cookies, reads forms."""

import http.client
import uuid
from dataclasses import dataclass, field
from email.message import Message
from functools import cached_property
from html.parser import HTMLParser
from http.cookies import SimpleCookie
from urllib.parse import urlencode, urljoin, urlsplit

from tests.studio.serving import PATIENCE_S

REDIRECTS = (301, 302, 303, 307, 308)
UNSENT = ("file", "checkbox", "radio")  # unless it is checked


@dataclass
class Form:
    """A form as a browser would send it untouched."""

    action: str
    fields: dict[str, str] = field(default_factory=dict)


class Page(HTMLParser):
    """The tags of a page in order, and its forms."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.forms = [], []
        self._form = self._select = None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.tags.append((tag, given))
        if tag == "form":
            self._form = Form(given.get("action") or "")
            self.forms.append(self._form)
        elif self._form and tag in ("input", "select", "textarea", "option"):
            self._read(tag, given, self._form.fields)

    def _read(self, tag, given, fields):
        if tag == "select":
            self._select = given["name"]
        elif tag == "option":
            if "selected" in given or self._select not in fields:
                fields[self._select] = given.get("value", "")
        elif given.get("name") and (given.get("type") not in UNSENT or "checked" in given):
            fields[given["name"]] = given.get("value") or ""

    def handle_endtag(self, tag):
        if tag == "form":
            self._form = None

    def all(self, tag, attribute):
        return [given[attribute] for name, given in self.tags if name == tag and given.get(attribute)]

    def form_with(self, name):
        return next(form for form in self.forms if name in form.fields)

    def form_to(self, action):
        return next(form for form in self.forms if form.action == action)

    @property
    def assets(self):
        """Every file that the head loads: scripts, styles, icons, modules loaded ahead.

        The app's manifest is no file.
        """
        links = [given for tag, given in self.tags if tag == "link" and given.get("rel") != "manifest"]
        return self.all("script", "src") + [given["href"] for given in links if given.get("href")]


@dataclass
class Answer:
    path: str
    status: int
    headers: Message
    body: bytes

    @property
    def text(self):
        return self.body.decode()

    @cached_property
    def page(self):
        return Page(self.text)


class Visitor:
    """A browser at `site`, as the server sees it through the proxy."""

    def __init__(self, site, port):
        self.site, self.port, self.cookies = site, port, {}

    def ask(self, method, path, body=None, scheme="https", **headers):
        """Ask once; a redirect is given back as it is."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE_S)
        sent = {
            "Host": urlsplit(self.site).hostname,
            "X-Forwarded-Proto": scheme,
            "Referer": urljoin(self.site, path),
            "Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items()),
            **headers,
        }
        try:
            connection.request(method, path, body, sent)
            response = connection.getresponse()
            answer = Answer(path, response.status, response.headers, response.read())
        finally:
            connection.close()
        self._keep(answer.headers.get_all("Set-Cookie", []))
        return answer

    def _keep(self, lines):
        for line in lines:
            for name, cookie in SimpleCookie(line).items():
                if cookie["max-age"] == "0":
                    self.cookies.pop(name, None)
                    continue
                assert cookie["secure"], f"{name} would travel readable"
                own = name.startswith("__Host-") and cookie["path"] == "/" and not cookie["domain"]
                assert own, f"another host of the domain could set {name}"
                assert cookie["httponly"], f"a script could read {name}"
                assert cookie["samesite"] in ("Lax", "Strict"), f"{name} would go along from elsewhere"
                self.cookies[name] = cookie.value

    def get(self, path, **headers):
        return self._follow(self.ask("GET", path, **headers))

    def send(self, answer, form, **typed):
        """Send a form of a page with what was typed into it."""
        to = urljoin(answer.path, form.action)
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        return self._follow(self.ask("POST", to, urlencode(form.fields | typed), **kind))

    def _follow(self, answer):
        while answer.status in REDIRECTS:
            to = urljoin(urljoin(self.site, answer.path), answer.headers["Location"])
            assert to.startswith(f"{self.site}/"), f"it leads elsewhere: {to}"
            answer = self.ask("GET", to.removeprefix(self.site))
        return answer


def multipart(fields, files):
    """Return body and content type of a form with files, `{name: (file name, type, bytes)}`."""
    limit = uuid.uuid4().hex
    parts = [(f'name="{name}"', value.encode()) for name, value in fields.items()]
    for name, (file_name, kind, data) in files.items():
        parts.append((f'name="{name}"; filename="{file_name}"\r\nContent-Type: {kind}', data))
    lines = [
        f"--{limit}\r\nContent-Disposition: form-data; {what}\r\n\r\n".encode() + data + b"\r\n"
        for what, data in parts
    ]
    return b"".join(lines) + f"--{limit}--\r\n".encode(), f"multipart/form-data; boundary={limit}"
