"""Prints what taking a photo costs, from the request to the copies, and what memory the site holds after 500.

`python -m tests.bench.uploads [WORD ...]`: a JPEG of 12 megapixels and 3 MB. In this process, by the
processor's clock, in turn, medians of 9: the request that accepts it, its writing to disk included, against
Pillow's draft decoding to the size of a screen; what the worker makes of it against one decoding and the
encodings; and all that it does with it, what may be wrong with it and the landmarks included, against those
and looking at a picture in memory. Then `manage.py serve` in production: from the answer until the photo is
ready, the site idle before each; and the memory of web, worker and their children after 500 uploads, of
three megapixels each, against that after the first 20, which have warmed all up. With words only rows that
hold one of them.
"""

import datetime as dt
import io
import statistics
import sys
import time
from pathlib import Path

from tests.bench.overload import form_with, in_production, people_of, photo_of_a_card, seconds_until, waiting
from tests.bench.term import median_times, told

ACCEPT, COPIES, BOTH, READY_S, GROWN = 0.3, 1.3, 1.4, 1.0, 1.1
WARM, UPLOADS, READY_OF, ROUNDS = 20, 500, 15, 9
AT_ONCE = 6  # a draft holds eight


def drafted(photo):
    """What Pillow needs at least to show the photo on a screen."""
    from PIL import Image

    from reeds.photo.vision.jobs import SCREEN

    with Image.open(io.BytesIO(photo)) as image:
        image.draft("RGB", (SCREEN, SCREEN))
        image.load()


def least(photo):
    """Return a function that decodes the photo once and encodes pictures of its copies' sizes."""
    from PIL import Image

    from reeds.photo.vision.decode import decode
    from reeds.photo.vision.jobs import copies_of

    def opened(file):
        with Image.open(io.BytesIO(file)) as image:
            image.load()
        return image

    copies = {name: opened(file) for name, file in copies_of(decode(photo).bgr).items()}

    def work():
        opened(photo)
        for name, picture in copies.items():
            picture.save(io.BytesIO(), "JPEG", quality=92 if name == "upright" else 82)

    return work


def accepting(person, photo):
    """Return a function that takes the photo through all of its request; the bodies are made before."""
    from django.test import Client

    client = Client(headers={"host": "reeds.example.org", "x-forwarded-proto": "https"})
    client.force_login(person.member.person)
    path = person.member.to("lessons:photo", person.reed)

    bodies = [form_with(photo) for _ in range(ROUNDS + 1)]

    def accept():
        make_room()
        answer = client.generic("POST", path, *bodies.pop(), headers={"hx-request": "true"})
        assert answer.status_code == 200, answer.content[:200]

    return accept, make_room


def make_room():
    """Take the photos out of every draft."""
    from lessons.sending.models import Submission

    Submission.photos.through.objects.all().delete()


def in_this_process(person, photo):
    from reeds.photo.models.measuring import OPENING, REED
    from reeds.photo.vision.decode import decode, to_measure
    from reeds.photo.vision.jobs import _found, copies_of, prepare_and_look

    accept, nothing = accepting(person, photo)
    took, beside, floor = median_times(accept, nothing, lambda: drafted(photo), rounds=ROUNDS)
    yield "accept / draft decoding", (took - beside) / floor, ACCEPT
    picture, given = to_measure(decode(photo).rgb, None), (REED, OPENING)
    took, looked, floor = median_times(
        lambda: list(prepare_and_look(photo, dt.UTC, *given)),
        lambda: _found(picture, *given),
        least(photo),
        rounds=ROUNDS,
    )
    yield "copies and proposal / decoding, encodings and looking", took / (looked + floor), BOTH
    # after whole photos, as in a worker that has been up for a while: its heap holds room for a picture
    took, floor = median_times(lambda: copies_of(decode(photo).bgr), least(photo), rounds=ROUNDS)
    yield "copies / decoding and encodings", took / floor, COPIES


def ready(person, photo):
    after = [ready_after(person, photo) for _ in range(READY_OF)]
    seen, found = (statistics.median(times) for times in zip(*after, strict=True))
    sys.stdout.write(f"s until landmarks are proposed: {found:.2f}\n")
    yield "s until ready", seen, READY_S


def ready_after(person, photo):
    """Seconds from the answer until the photo can be seen, and until the worker has looked at it."""
    from reeds.photo.models.measuring import LookState, PhotoMeasuring

    seconds_until(idle)
    make_room()
    looked_at = PhotoMeasuring.objects.exclude(state=LookState.WAITING)
    before, after = looked_at.count(), []
    person.wire = None  # the server closes what was silent for so long
    person.act("photo", photo)
    begin = time.perf_counter()
    for undone in (waiting, lambda: looked_at.count() == before):
        while undone():
            time.sleep(0.005)
        after.append(time.perf_counter() - begin)
    return after


def memory_mb(site):
    """What web, worker and children hold, a page that several share by its part: Pss of proc(5)."""
    from tests.studio.serving import children_of

    lines = (Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines() for pid in children_of(site.pid))
    return sum(int(line.split()[1]) for rows in lines for line in rows if line.startswith("Pss:")) / 1000


def smaller(photo):
    """Three megapixels, which pass through the same hands."""
    from PIL import Image

    file = io.BytesIO()
    with Image.open(io.BytesIO(photo)) as image:
        image.resize((image.width // 2, image.height // 2)).save(file, "JPEG", quality=88)
    return file.getvalue()


def upload(person, photo, count):
    """Send so many, a draft full at a time."""
    for sent in range(count):
        if sent % AT_ONCE == 0:
            seconds_until(lambda: not waiting())
            make_room()
            person.wire = None  # the server closes what was silent for so long
        person.act("photo", photo)
    seconds_until(idle)


def idle():
    from django_tasks_db.models import DBTaskResult

    return not DBTaskResult.objects.filter(status__in=("READY", "RUNNING")).exists()


def grown(site, person, photo):
    little = smaller(photo)
    upload(person, little, WARM)
    before = memory_mb(site)
    upload(person, little, UPLOADS - WARM)
    after = memory_mb(site)
    sys.stdout.write(f"memory after {WARM} uploads {before:.0f} MB, after {UPLOADS} {after:.0f} MB\n")
    return after / before


def measured(site, port, words):
    from tests.big_term import big_term

    photo = photo_of_a_card()
    first, person = people_of(big_term(students=2, reeds_each=3), port)
    rows = {
        "accept": lambda: in_this_process(first, photo),
        "ready": lambda: ready(person, photo),
        "memory": lambda: [("memory after 500 uploads", grown(site, person, photo), GROWN)],
    }
    missed = 0
    for name, row in rows.items():
        if not words or any(word in name for word in words):
            missed += sum(told(*figure) for figure in row())
    assert not person.failed, person.failed
    return missed


if __name__ == "__main__":
    sys.exit(in_production(measured, sys.argv[1:]))
