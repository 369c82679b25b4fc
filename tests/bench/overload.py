"""Prints how long pages take while sixty people act at once, and how long their photos wait afterwards.

`python -m tests.bench.overload [SECONDS]`: `manage.py serve` with settings of production and a database of
its own, on two cores together with whoever asks it. Each of sixty students does something every two seconds
for half a minute: a fifth of it sends a photo of 12 megapixels and 3 MB, the rest looks at pages and saves.
Before that one of them does the same alone: the floor. A person whose last answer is not there waits for it.
What the processor worked is told as well: it does not depend on what else this machine does.
Bounds: of all that is no photo 95 in 100 are answered within 1.5 s; all photos are ready 20 s after the end.
"""

import contextlib
import http.client
import io
import os
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

PEOPLE, EVERY_S, PHOTOS, SECONDS = 60, 2.0, 0.2, 30.0
P95_S, READY_S, STUCK_S = 1.5, 20.0, 600.0
HOST = "reeds.example.org"
PHOTO_BYTES = 3_000_000
PAGES = ("reeds", "reed", "draft", "save", "send")


@dataclass
class Person:
    """A student with the cookies of a browser that is signed in."""

    member: object
    reed: int
    session: str
    port: int
    took: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    failed: list[tuple[str, int]] = field(default_factory=list)
    wire: http.client.HTTPConnection | None = None

    def act(self, kind, photo):
        """Do one thing and note how long it took until all of the answer was there."""
        start = time.perf_counter()
        status = getattr(self, f"_{kind}")(photo)
        self.took[kind].append(time.perf_counter() - start)
        if status != 200:
            self.failed.append((kind, status))

    def _reeds(self, _photo):
        return self._ask("GET", self.member.to("reeds:reeds"))

    def _reed(self, _photo):
        return self._ask("GET", self.member.to("reeds:reed", self.reed))

    def _draft(self, _photo):
        return self._ask("GET", self.member.to("lessons:draft", self.reed))

    def _send(self, _photo):
        return self._ask("GET", self.member.to("lessons:send"))

    def _save(self, _photo):
        typed = f"tie_length=7{random.randint(0, 9)}.5&question=Does+it+lean%3F".encode()  # noqa: S311
        kind = "application/x-www-form-urlencoded"
        return self._ask("POST", self.member.to("lessons:save", self.reed), typed, kind)

    def _photo(self, photo):
        return self._ask("POST", self.member.to("lessons:photo", self.reed), *form_with(photo))

    def _ask(self, method, path, body=None, kind=""):
        token = "x" * 32
        headers = {
            "Host": HOST,
            "X-Forwarded-Proto": "https",
            "X-Forwarded-For": "192.0.2.1",
            "Cookie": f"__Host-sessionid={self.session}; __Host-csrftoken={token}",
        }
        if body is not None:
            headers |= {"X-CSRFToken": token, "Referer": f"https://{HOST}{path}", "Content-Type": kind}
            headers["HX-Request"] = "true"
        if self.wire is None:
            self.wire = http.client.HTTPConnection("127.0.0.1", self.port, timeout=STUCK_S)
        self.wire.request(method, path, body, headers)
        answer = self.wire.getresponse()
        answer.read()
        return answer.status


def form_with(photo):
    """Return the body of a form that brings a photo with a key of its own, and the body's type."""
    limit = uuid.uuid4().hex
    head = (
        f'--{limit}\r\nContent-Disposition: form-data; name="photo-key"\r\n\r\n{uuid.uuid4()}\r\n'
        f'--{limit}\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\r\n'
        "Content-Type: image/jpeg\r\n\r\n"
    )
    body = head.encode() + photo + f"\r\n--{limit}--\r\n".encode()
    return body, f"multipart/form-data; boundary={limit}"


def days_work(seed, seconds):
    """What a person does, one thing after another, as many as there is time for."""
    rng = random.Random(seed)  # noqa: S311  # a mix, no secret
    count = round(seconds / EVERY_S)
    return ["photo" if rng.random() < PHOTOS else rng.choice(PAGES) for _ in range(count)]


def one_after_another(person, kinds, photo, every_s=0.0, begin=0.0):
    """Do things at their time, or once the one before is done."""
    for count, kind in enumerate(kinds):
        time.sleep(max(0.0, begin + count * every_s - time.perf_counter()))
        person.act(kind, photo)


def all_at_once(people, seconds, photo):
    begin = time.perf_counter() + 1
    threads = [
        threading.Thread(
            target=one_after_another,
            args=(person, days_work(k, seconds), photo, EVERY_S, begin + k * EVERY_S / len(people)),
        )
        for k, person in enumerate(people)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def photo_of_a_card():
    """Twelve megapixels of the printed card with a reed on it, with the noise that makes 3 MB of it."""
    import numpy as np
    from PIL import Image

    from reeds.photo import printing
    from tests.simulator.photo import Conditions, card_photo

    rng = np.random.default_rng(501)
    card = np.asarray(Image.open(io.BytesIO(printing.png(1, dpi=400)))) / 255
    cond = Conditions(megapixels=(12, 12.1), distance=(180, 300))
    rgb = card_photo(rng, card, (148, 105), (36, 52.5), cond).rgb.astype(np.int16)
    for spread in range(2, 20):
        noisy = np.clip(rgb + rng.normal(0, spread, rgb.shape).astype(np.int16), 0, 255).astype(np.uint8)
        out = io.BytesIO()
        Image.fromarray(noisy).save(out, "JPEG", quality=88)
        if out.tell() >= PHOTO_BYTES:
            break
    return out.getvalue()


def people_of(big, port):
    """Everybody signed in, each with a reed to send; no password is hashed."""
    from django.test import Client

    from reeds.reed.models.reed import Reed

    made = []
    for member in big.students:
        client = Client()
        client.force_login(member.person)
        reed = Reed.objects.filter(owner=member).first().pk
        made.append(Person(member, reed, client.cookies["__Host-sessionid"].value, port))
    return made


def waiting():
    from reeds.photo.models.photo import Photo, PhotoState

    return Photo.objects.filter(state=PhotoState.WAITING).count()


def seconds_until(true):
    begin = time.perf_counter()
    while not true():
        if time.perf_counter() - begin > STUCK_S:
            raise AssertionError("nothing comes of it")
        time.sleep(0.1)
    return time.perf_counter() - begin


def worked_s(site):
    """Seconds of the processor by what has worked; a process that ended counts with who started it."""
    from tests.studio.serving import children_of, command_line

    tick, worked = os.sysconf("SC_CLK_TCK"), defaultdict(float)
    for pid in [*children_of(site.pid), os.getpid()]:
        line = command_line(pid)
        names = (("studio.confined", "children"), ("manage.py work", "worker"), ("granian", "web"))
        name = next((name for word, name in names if word in line), "this client")
        with contextlib.suppress(FileNotFoundError):
            ticks = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[11:15]
            worked[name] += sum(map(int, ticks if name != "this client" else ticks[:2])) / tick
    return worked


def spread(people, kinds):
    took = sorted(one for person in people for kind in kinds for one in person.took[kind])
    middle, p95 = statistics.median(took), took[int(0.95 * (len(took) - 1))]
    return middle, p95, took[-1], len(took)


def told(words, value, bound):
    met = value <= bound
    sys.stdout.write(f"{words}: {value:.2f} s (bound {bound:g}): {'met' if met else 'NOT MET'}\n")
    return not met


def table(people):
    for kind in (*PAGES, "photo"):
        middle, p95, longest, count = spread(people, [kind])
        sys.stdout.write(
            f"  {kind:6} {count:5} times: {middle:.2f}, 95 in 100 {p95:.2f}, all {longest:.2f} s\n"
        )


def measured(site, port, seconds):
    from tests.big_term import big_term

    photo = photo_of_a_card()
    people = people_of(big_term(students=PEOPLE, reeds_each=10), port)
    first = people.pop()
    one_after_another(first, [kind for kind in (*PAGES, "photo") for _ in range(8)], photo)
    seconds_until(lambda: not waiting())
    alone = spread([first], PAGES)
    sys.stdout.write(f"{len(photo) / 1e6:.1f} MB a photo; alone {alone[0]:.3f}, 95 in 100 {alone[1]:.3f} s\n")
    before = worked_s(site)
    all_at_once(people, seconds, photo)
    wait = seconds_until(lambda: not waiting())
    worked = {name: f"{s - before[name]:.1f} s" for name, s in worked_s(site).items()}
    failed = [one for person in people for one in person.failed]
    sys.stdout.write(f"{len(people)} people at once, {len(failed)} of it failed {failed[:3]}\n")
    table(people)
    sys.stdout.write(f"the processor, until all photos were ready: {worked}\n")
    p95 = spread(people, PAGES)[1]
    sys.stdout.write(f"95 in 100 pages, against alone: {p95 / alone[1]:.1f} times\n")
    return bool(failed) + told("95 in 100 pages", p95, P95_S) + told("photos ready after", wait, READY_S)


def served(folder):
    """Start the site in production on this folder; return it and its port once it answers."""
    from studio.children import answers
    from tests.studio.serving import environment, free_port

    port = free_port()
    given = {name: os.environ[name] for name in SITE}
    site = subprocess.Popen(
        [sys.executable, "manage.py", "serve"],
        cwd=Path(__file__).parents[2],
        env=environment(folder, **given | {"PORT": str(port), "LOG_LEVEL": "ERROR"}),
    )
    seconds_until(lambda: answers("127.0.0.1", port) or site.poll() is not None)
    assert site.poll() is None, "the site ended at once"
    return site, port


SITE = {
    "PRODUCTION": "1",
    "SECRET_KEY": "of-the-bench-alone-" + "0123456789abcdefghijklmnopqrstuvwxyz" * 2,
    "SITE_ADDRESS": f"https://{HOST}",
    "BEHIND_PROXY": "1",
    "EMAIL_URL": "dummymail://",
}


def in_production(measured, *given):
    """Start the site in production on a folder of its own; return whether what is measured there missed."""
    os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:2])
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "studio.settings", **SITE}
        os.environ.pop("DATABASE_URL", None)
        import django

        django.setup()
        site, port = served(folder)
        try:
            return int(measured(site, port, *given) > 0)
        finally:
            site.terminate()
            site.wait()


if __name__ == "__main__":
    sys.exit(in_production(measured, float(sys.argv[1]) if len(sys.argv) > 1 else SECONDS))
