"""People whose page repeats what it sends, with the same key, until the server says that it has it."""

import http.client
import json
import re
import threading
import time
import uuid
from collections import Counter

from tests.torture.hostile.whole import PICTURES, RECORDINGS

TIMEOUT_S = 120
PAUSE_S = 0.4
CSRF = "a" * 32
KEY = re.compile(r'name="key" value="([0-9a-f-]{36})"')
# prime: no reed is given the same number again within hundreds of rounds, which would be taken for doubled
DIFFERENT = 41
# of one thing, the same refusal so often is no accident
ENOUGH = 4


class NotTaken(Exception):
    """The server refused for good what it should have taken."""


class Person(threading.Thread):
    """Somebody signed in; `kept` is what the server acknowledged, `wrong` what it should never have said."""

    def __init__(self, site, session, over):
        super().__init__(daemon=True)
        self.site, self.over = site, over
        self.cookies = f"sessionid={session}; csrftoken={CSRF}"
        self.kept, self.wrong, self.answers = [], [], Counter()
        self.photo, self.sound = PICTURES["jpeg"](), RECORDINGS["m4a"](seconds=0.6)

    def run(self):
        while not self.over.is_set():
            try:
                self.do_something()
            except NotTaken as refusal:
                self.wrong.append(str(refusal))
                time.sleep(PAUSE_S)

    def keep(self, kind, where, **more):
        """Note that the server has it; `where` finds its row."""
        self.kept.append({"kind": kind, "where": where, **more})

    def until_taken(self, method, path, fields=None, file=None, good=(200, 302)):
        """Repeat one request until it is acknowledged; return status, headers and body.

        Nobody answers, the server is busy, or an error of the disk: then again. Any other refusal is wrong,
        and an error page of the server is wrong at once, though it is repeated too.
        """
        body, kind = _form(fields or {}, file)
        refused = Counter()
        while True:
            try:
                status, headers, text = self._ask(method, path, body, kind)
            except (OSError, http.client.HTTPException) as error:
                self.answers[type(error).__name__] += 1
                time.sleep(PAUSE_S)
                continue
            self.answers[status] += 1
            if status in good:
                return status, headers, text
            if status == 500:
                self.wrong.append(f"500 at {method} {path}")
            refused[status] += status != 503
            if refused[status] == ENOUGH:
                raise NotTaken(f"{status} at {method} {path}: {_words(text)[:200]}")
            time.sleep(PAUSE_S)

    def _ask(self, method, path, body, kind):
        connection = http.client.HTTPConnection("127.0.0.1", self.site.port, timeout=TIMEOUT_S)
        try:
            headers = {
                "Cookie": self.cookies,
                "X-CSRFToken": CSRF,
                "HX-Request": "true",
                "Content-Type": kind,
            }
            connection.request(method, path, body if method == "POST" else None, headers)
            answer = connection.getresponse()
            return answer.status, answer.headers, answer.read().decode(errors="replace")
        finally:
            connection.close()


def _form(fields, file):
    """Return a multipart body and its type (RFC 7578)."""
    edge = uuid.uuid4().hex
    parts = [
        f'--{edge}\r\nContent-Disposition: form-data; name="{k}"\r\n\r\n{v}\r\n'.encode()
        for k, v in fields.items()
    ]
    if file:
        name, kind, data = file
        head = f'--{edge}\r\nContent-Disposition: form-data; name="{name}"; filename="a"\r\n'
        head += f"Content-Type: {kind}\r\n\r\n"
        parts.append(head.encode() + data + b"\r\n")
    return b"".join(parts) + f"--{edge}--\r\n".encode(), f"multipart/form-data; boundary={edge}"


def _words(page):
    """The sentences of a page."""
    return " ".join(re.sub(r"<(script|style).*?</\1>|<[^>]+>", " ", page, flags=re.DOTALL).split())


class Student(Person):
    """Sends one round after the other: a photo, a take, a number, a question; then says something back."""

    def __init__(self, site, known, over, sent):
        super().__init__(site, known["session"], over)
        self.reeds, self.rounds, self.sent = known["reeds"], 0, sent

    def do_something(self):
        reed = self.reeds[self.rounds % len(self.reeds)]
        number = round(70 + self.rounds % DIFFERENT / 10, 1)
        self.rounds += 1
        place = self.site.path(f"send/{reed}")
        _status, _headers, page = self.until_taken("GET", f"{place}/")
        key = KEY.search(page).group(1)
        photo, take = str(uuid.uuid4()), str(uuid.uuid4())
        self.until_taken(
            "POST", f"{place}/photo/", {"key": key, "photo-key": photo}, ("photo", "image/jpeg", self.photo)
        )
        self.keep("photo", {"key": photo, "reed": reed})
        fields = {"key": key, "take-key": take, "item": self.site.item}
        self.until_taken("POST", f"{place}/take/", fields, ("take", "audio/mp4", self.sound))
        self.keep("take", {"key": take, "reed": reed})
        typed = {"key": key, "tie_length": str(number), "question": f"question of {key}"}
        self.until_taken("POST", f"{place}/save/", typed)
        _status, _headers, text = self.until_taken("POST", f"{place}/go/", typed)
        self.keep(
            "round", {"key": key, "sent_at__isnull": False}, number=number, photos=[photo], takes=[take]
        )
        self._say_something(json.loads(text)["to"])

    def _say_something(self, page):
        said = str(uuid.uuid4())
        self.until_taken("POST", f"{page}reply/", {"key": said, "words": f"words of {said}"})
        self.keep("reply", {"key": said, "words": f"words of {said}"})
        self.sent.put(int(page.rstrip("/").rpartition("/")[2]))


class Teacher(Person):
    """Answers every round that was sent, each with a spoken note."""

    def __init__(self, site, known, over, sent):
        super().__init__(site, known["session"], over)
        self.sent = sent

    def do_something(self):
        if self.sent.empty():
            time.sleep(PAUSE_S)
            return
        round_ = self.sent.get()
        place = self.site.path(f"queue/{round_}")
        note = str(uuid.uuid4())
        self.until_taken("POST", f"{place}/voice/", {"key": note}, ("voice", "audio/mp4", self.sound))
        self.keep("voice", {"key": note})
        words = f"answer to {round_}"
        self.until_taken(
            "POST", f"{place}/answer/", {"words": words, "decision": "rest", "next_step": "wait"}
        )
        self.keep("answer", {"submission": round_, "words": words, "sent_at__isnull": False})
