"""Keeps what every page of the demo and every JSON command answers, and compares two such keepings.

`python -m tests.sameness keep FOLDER [--inputs INPUTS]` in any checkout, `compare BEFORE AFTER` in either. It
knows no module of the project, only tables, addresses and commands; simulators only while inputs are made.
"""

from __future__ import annotations

import argparse
import datetime as dt
import difflib
import hashlib
import io
import json
import logging
import os
import re
import subprocess
import sys
import tempfile
import textwrap
import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import cv2
import django
import numpy as np
import pillow_heif
import time_machine
from django.apps import apps
from django.core.management import call_command
from django.test import Client, override_settings
from django.urls import URLResolver, get_resolver
from PIL import Image, ImageOps

HERE = Path(__file__).resolve().parent.parent
MOMENT = dt.datetime(2026, 3, 2, 12, 0, tzinfo=dt.UTC)
ASKING = ("nobody", "teacher", "bruno", "hew")  # bruno has takes and a measured photo, hew is under age
OBJECTS, ROUNDS, LINES = 6, 20, 12  # at most so many rows of one address, lines of one difference
STUDIO = "studio/<int:studio>/"
# whose key an address carries, said by the first beginning that fits; and rows that are always opened
ROWS = """
reeds/events/ ReedEvent, reeds/ Reed, send/ Reed, cane/ CaneLot, sheets/ Pattern, card/ PrintedCard,
photos/ Photo, takes/ Take, rounds/ Submission, queue/ Submission, lessons/ Lesson, work/ SetWork,
phrases/ Phrase, people/invitations/ Invitation, people/links/ SignInLink, people/ Member, term/ Member,
terms/ Term, join/ Invitation, sign-in/ SignInLink
"""
ALWAYS = {"Photo": {"measuring__measured_at__isnull": False}, "Submission": {"answered_at": None}}
# lists narrowed and forms begun, each as a page and as the part that htmx asks for
ASKED = """
queue/ queue/?contradiction=on queue/?stage=playing&under_age=on queue/?student=3 reeds/ reeds/?stage=playing
reeds/?number=3 reeds/?number=x reeds/?page=2 reeds/new/?then=send reeds/new/?for=3 term/?term=1
reeds/new/?count=2&pattern=1 send/?number=3 sheets/1/?version=1 sheets/new/?from=1 work/new/?lesson=1
photos/compare/?a=1 photos/compare/?a=1&b=23 photos/compare/?a=66&b=68
"""
WORDS = {"size": ("upright", "screen", "thumbnail"), "kind": ("pdf", "png")}  # of a photo, of a card
UUID = re.compile(r"\b(?:[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}|[0-9a-f]{32})\b")
CSRF = re.compile(r"\b[A-Za-z0-9]{64}\b")
OF_THIS_RUN = {"Set-Cookie", "Content-Length", "Last-Modified"}  # headers; the parts of others are sorted
AT_ONCE = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend", "QUEUES": []}}
IN_MEMORY = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}


def model(name: str) -> Any:
    """Return the model of this name, in whichever app it lives."""
    return next(one for one in apps.get_models() if one.__name__ == name)


def load_demo(data: str) -> None:
    """Start Django with nothing of this machine's settings; load the invented studio and two links."""
    for name in ("DEBUG", "PRODUCTION", "DATABASE_URL", "CACHE_URL", "SITE_ADDRESS", "ALLOWED_HOSTS", "PORT"):
        os.environ.pop(name, None)
    tests = tomllib.loads((HERE / "pyproject.toml").read_text())["tool"]["pytest"]["ini_options"]
    settings = tests["DJANGO_SETTINGS_MODULE"]
    os.environ |= {"DATA_DIR": data, "SECRET_KEY": "of every run", "DJANGO_SETTINGS_MODULE": settings}
    django.setup()
    logging.disable(logging.WARNING)  # a page that is not found is kept, not told; one that fails is told
    override_settings(TASKS=AT_ONCE, CACHES=IN_MEMORY).enable()
    call_command("migrate", verbosity=0)
    call_command("demo", stdout=io.StringIO())
    teacher, student = (model("Member").objects.get(person__username=who) for who in ASKING[1:3])
    given = {"studio": teacher.studio, "expires_at": MOMENT + dt.timedelta(days=1)}
    model("Invitation").objects.create(invited_by=teacher, name="Person to come", **given)
    model("SignInLink").objects.create(made_by=teacher, member=student, **given)


def routes(resolver: URLResolver, above: str = "") -> Iterator[str]:
    """Yield every address as it is written down, but those of allauth that only a mailed key opens."""
    for entry in resolver.url_patterns:
        route = above + str(entry.pattern).strip("^$")
        if isinstance(entry, URLResolver):
            yield from routes(entry, route)
        elif "(?P" not in route:
            yield route


def chosen(rest: str, member: Any) -> list[Any]:
    """Return the rows with which an address is opened, of those that may be seen."""
    known = (pair.split() for pair in ROWS.split(","))
    name = next((name for start, name in known if rest.startswith(start)), None)
    if name is None:
        raise SystemExit(f"Say in ROWS whose key the address {rest} carries.")
    rows = model(name).objects.visible_to(member) if member else model(name).objects.all()
    every = sorted(set(rows.values_list("pk", flat=True)))
    picked = set(every[:: len(every) // (ROUNDS if name == "Submission" else OBJECTS) + 1])
    picked |= set(rows.filter(**ALWAYS.get(name, {"pk": None})).values_list("pk", flat=True))
    return [rows.filter(pk=pk).first() for pk in sorted(picked)]


def filled(rest: str, url: str, member: Any) -> Iterator[tuple[str, str]]:
    """Yield each address that a route stands for, after a name for it that is the same in every run."""
    for row in chosen(rest, member) if "<" in rest else (None,):
        pk = str(getattr(row, "pk", ""))
        key = str(getattr(row, "batch", getattr(row, "token", "")))  # stands in some addresses instead
        slug = re.search("<slug:(.*?)>", rest)
        for word in WORDS[slug[1]] if slug else ("",):
            name, there = (re.sub("<slug:.*?>", word, text) for text in (rest, url))
            there = re.sub("<int:.*?>", pk, re.sub("<(?:uuid|str):.*?>", key, there))
            yield re.sub("<.*?>", pk, name), f"/{there}"


def addresses(member: Any) -> Iterator[list[tuple[str, str]]]:
    """Yield all that somebody opens, route by route, each with rows of theirs; last what is in ASKED."""
    studio = f"studio/{member.studio_id}/" if member else STUDIO
    for route in sorted(set(routes(get_resolver()))):
        if member or not route.startswith(STUDIO):
            yield list(filled(route.removeprefix(STUDIO), route.replace(STUDIO, studio), member))
    if member:
        yield [(f"{part}{rest}", f"/{studio}{rest}") for rest in ASKED.split() for part in ("", "htmx ")]


def normal(text: str) -> str:
    """Replace what differs from run to run; uuids by the order in which a page names them."""
    seen: dict[str, str] = {}
    text = CSRF.sub("CSRF", text)
    return UUID.sub(lambda found: seen.setdefault(found[0].replace("-", ""), f"UUID{len(seen) + 1}"), text)


def body(answer: Any) -> str:
    """Return what is kept of a page: text, a line for a tag and for a key of JSON in it; else its hash."""
    data, kind = answer.getvalue(), answer.get("Content-Type", "")
    if "json" in kind:
        return json.dumps(json.loads(normal(data.decode())), indent=1, ensure_ascii=False)
    if not (kind.startswith("text/") or "svg" in kind):
        return f"{len(data)} bytes, sha256 {hashlib.sha256(data).hexdigest()}"
    folded = re.sub(r"(?<=>)\s+|\s+(?=<|/?>)", "", normal(data.decode()))  # beside a tag space says nothing
    text = re.sub(r', (?=&quot;|"|\[|\{)', ",\n", folded.replace("<", "\n<"))
    wrapped = (textwrap.wrap(line, 160, break_on_hyphens=False) for line in text.splitlines())
    return "\n".join(line for lines in wrapped for line in lines)


def keep_pages(folder: Path, who: str) -> None:
    """Keep all that one person opens: status, headers, an empty line, the content."""
    folder.mkdir(parents=True)
    member = model("Member").objects.filter(person__username=who).first()
    client = Client(raise_request_exception=False, SERVER_NAME="127.0.0.1")
    if member:
        client.force_login(member.person)
    for group in addresses(member):
        for name, url in group:
            answer = client.get(url, headers={"HX-Request": "true"} if name.startswith("htmx ") else {})
            headers = [pair for pair in answer.items() if pair[0] not in OF_THIS_RUN]
            said = sorted(f"{key}: {'; '.join(sorted(value.split('; ')))}" for key, value in headers)
            head = normal("\n".join([f"status: {answer.status_code}", *said]))
            (folder / (re.sub(r"[/?&]", "~", name) or "~")).write_text(f"{head}\n\n{body(answer)}\n")
            if answer.status_code == 405:
                break  # with every row the same


def keep_commands(folder: Path, inputs: Path) -> None:
    """Run every command of the inputs' list in a process of its own and keep what it printed."""
    folder.mkdir(parents=True)
    for number, words in enumerate(json.loads((inputs / "commands.json").read_text()), start=1):
        command = [sys.executable, str(HERE / "manage.py"), *words]
        ran = subprocess.run(command, cwd=inputs, capture_output=True, text=True, check=False)  # noqa: S603
        said = json.dumps(json.loads(ran.stdout), indent=1) if ran.returncode == 0 else ran.stdout
        head = f"status: {ran.returncode}\n{' '.join(words)}\nstderr: {json.dumps(ran.stderr)}"
        (folder / f"{number:02} {words[0]} {words[1]}").write_text(f"{head}\n\n{said}\n")


# tilt in degrees, distance in mm
POSES = {"level": (5, 250), "steep": (22, 280), "far": (3, 390), "near": (8, 200), "large": (12, 300)}


def make_inputs(folder: Path) -> None:
    """Make the files that are measured, and the list of commands, once for both sides."""
    folder.mkdir(parents=True, exist_ok=True)
    call_command("card", str(folder / "card.png"), "--dpi", "300", stdout=io.StringIO())
    (folder / "empty").write_bytes(b"")
    (folder / "words").write_bytes(b"these are only words, " * 50)
    made = {"measure_photo": photo_inputs, "measure_opening": opening_inputs, "measure_take": take_inputs}
    commands = [[command, *words] for command, inputs in made.items() for words in inputs(folder)]
    (folder / "commands.json").write_text(json.dumps(commands, indent=1))


def photo_inputs(folder: Path) -> Iterator[list[str]]:
    """Yield photos of a reed on the card in several poses, and what is no such photo."""
    from tests.simulator.photo import Conditions, card_photo

    card = np.asarray(Image.open(folder / "card.png").convert("RGB")) / 255
    for seed, (pose, (tilt, distance)) in enumerate(POSES.items()):
        size = (8, 8.5) if pose == "large" else (2, 2.5)
        cond = Conditions(megapixels=size, tilt=(tilt, tilt), distance=(distance, distance))
        truth = card_photo(np.random.default_rng(seed), card, (148, 105), (36, 52.5), cond)
        (folder / f"{pose}.jpg").write_bytes(truth.jpeg())
        points = {name: place.tolist() for name, place in truth.marks.items()}
        (folder / f"{pose}.json").write_text(json.dumps(points))
        yield from ([f"{pose}.jpg"], [f"{pose}.jpg", "--points", f"{pose}.json"])
        if pose == "level":
            yield from (words.split() for words in on_level(folder, truth))
    Image.fromarray(np.zeros((1200, 1600, 3), np.uint8)).save(folder / "no_card.png")
    yield from ([name] for name in ("no_card.png", "words", "empty", "not_there"))


def on_level(folder: Path, truth: Any) -> Iterator[str]:
    """Yield one photo as files of other kinds, by other scales, with more said of it, and refused."""
    picture, exif = Image.fromarray(truth.rgb), Image.Exif()
    pillow_heif.from_pillow(picture).save(folder / "level.heic", quality=90)
    cv2.imwrite(str(folder / "level.png"), truth.rgb[..., ::-1].astype(np.uint16) * 257)
    ImageOps.mirror(picture).save(folder / "mirrored.png")
    exif[0x0112] = 6  # to be turned a quarter to the right
    picture.transpose(Image.Transpose.ROTATE_90).save(folder / "quarter.jpg", exif=exif, quality=92)
    (folder / "cut.jpg").write_bytes(truth.jpeg()[:40_000])
    yield from ("level.heic", "level.png", "mirrored.png", "quarter.jpg", "cut.jpg")
    rim = [[30, 110, 0.76], [115.6, 110, 0.76], [115.6, 163.98, 0.76], [30, 163.98, 0.76]]
    ruler, corners = (truth.view.see(np.array(at)) for at in ([[20, 112, 0.5], [100, 112, 0.5]], rim))
    known = "--known 80 " + " ".join(f"{value:.2f}" for value in ruler.ravel())
    id1 = "--id1 " + " ".join(f"{value:.2f}" for value in corners.ravel())
    high = "--axis-height " + ",".join(f"{height:.2f}" for height in truth.heights)
    for words in (known, id1, f"{known} {high}", f"{id1} --focal-35mm 27.5", "--print-factor 0.98", high):
        yield f"level.jpg --points level.json {words}"
    more = ["--focal-35mm 27.5", f"{high} --print-factor 1.01", "--axis-height 3.25", known]
    more += ["--print-factor 3", "--axis-height high", "--known 10 1", "--points words"]
    yield from (f"level.jpg {words}" for words in more)


def opening_inputs(folder: Path) -> Iterator[list[str]]:
    """Yield openings before a dark and a bright wall, and what shows none."""
    from tests.simulator.opening import opening_photo

    for seed in range(1, 5):
        seen = opening_photo(np.random.default_rng(seed), bright=seed % 2 == 0)
        Image.fromarray(seen.rgb).save(folder / f"tip_{seed}.png")
        yield [f"tip_{seed}.png", *(["--tip-width", f"{seen.width:.2f}"] if seed > 2 else [])]
    Image.new("RGB", (400, 300), (200, 200, 200)).save(folder / "wall.png")
    yield from (["wall.png"], ["words"], ["mirrored.png"], ["tip_1.png", "--tip-width", "70"])


PLAYED = {  # notes with the time from one to the next, how they are blown, what is asked for
    "low_notes": ("D4 C4 Bb3", 1.3, {"breath_before": 0.05}, "--expect D4,C4,B3,Bb3"),
    "staccato": ("A4 " * 10, 0.6, {"length": 0.2}, ""),
    "third_octave": ("C6 D6", 1.4, {"vibrato_cents": 12.0, "scoop": 8.0}, "--expect C6,D6"),
    "long_tone": ("A4", 1, {"length": 4.0, "swell_db": 12.0, "restless": 1.0}, ""),
    "tuning": ("A4", 1, {"length": 2.0, "drift": 3.0}, "--expect A4"),
    "crow": ("C5 C6", 0, {"length": 2.0, "jitter": 1.0}, ""),
}
KINDS = {"wav": ("pcm_s16le", "wav"), "flac": ("flac", "flac"), "m4a": ("aac", "mp4", 48000)}
KINDS |= {"ogg": ("libopus", "ogg", 48000), "webm": ("libopus", "webm", 48000)}


def take_inputs(folder: Path) -> Iterator[list[str]]:
    """Yield a recording of each item of the playing test, one in each kind of file, and what is refused."""
    from tests.simulate_notes import sustained
    from tests.simulate_sound import Room, as_file, plain, record

    def write(name: str, blows: list[Any]) -> str:
        seconds = blows[-1].start + blows[-1].length + 0.6
        sung = record(blows, seconds, Room(rate=48000), np.random.default_rng(6))
        (folder / name).write_bytes(as_file(sung, *KINDS[name.partition(".")[2]]).getvalue())
        return name

    for item, (notes, apart, how, asked) in PLAYED.items():
        blows = [plain(note, 442, start=0.5 + apart * i, **how) for i, note in enumerate(notes.split())]
        yield [write(f"{item}.m4a", blows), "--a4", "442", "--item", item, *asked.split()]
    yield from ([write(f"notes.{kind}", sustained(np.random.default_rng(5), 6)[0])] for kind in KINDS)
    (folder / "cut.ogg").write_bytes((folder / "notes.ogg").read_bytes()[:20_000])
    yield from ([name] for name in ("cut.ogg", "empty", "words", "not_there"))
    yield from (["low_notes.m4a", *words.split()] for words in ("--expect H4", "--a4 300", "--item scale"))


def keep(folder: Path, inputs: Path) -> None:
    """Keep pages and commands of this checkout in a new folder."""
    with tempfile.TemporaryDirectory() as data:
        with time_machine.travel(MOMENT, tick=False):
            load_demo(data)
            for who in ASKING:
                keep_pages(folder / "pages" / who, who)
        if not (inputs / "commands.json").exists():
            make_inputs(inputs)
        keep_commands(folder / "commands", inputs.resolve())
    files = sorted(file for file in folder.rglob("*") if file.is_file())
    counts = Counter(f"{file.parent.name}, {file.read_text().splitlines()[0]}" for file in files)
    sys.stdout.write("".join(f"{said}: {count}\n" for said, count in counts.items()))


def numbers(value: Any, path: str = "") -> dict[str, float]:
    """Return every number of a JSON value by its path."""
    if isinstance(value, dict | list):
        inside = value.items() if isinstance(value, dict) else enumerate(value)
        return {at: number for key, one in inside for at, number in numbers(one, f"{path}.{key}").items()}
    return {path: value} if isinstance(value, int | float) else {}


def largest(before: str, after: str) -> str:
    """Say by how much the numbers of two JSON answers differ at most, against the larger of the two."""
    try:
        one, other = (numbers(json.loads(text.partition("\n\n")[2])) for text in (before, after))
    except ValueError:
        return ""
    pairs = {at: (one[at], other[at]) for at in one.keys() & other if one[at] != other[at]}
    off = {at: abs(a - b) / max(abs(a), abs(b)) for at, (a, b) in pairs.items()}
    worst = max(sorted(off), key=off.__getitem__, default="")
    return f" (numbers differ by {off[worst]:.2g} of themselves at most, at {worst})" if off else ""


def compare(before: Path, after: Path) -> int:
    """Tell which answers differ and how; those that differ by the same lines are told together."""
    every = {file.relative_to(top) for top in (before, after) for file in top.rglob("*") if file.is_file()}
    alike: dict[str, list[str]] = defaultdict(list)
    for file in sorted(every):
        texts = [path.read_text() if path.exists() else "" for path in (before / file, after / file)]
        lines = list(difflib.unified_diff(*(text.splitlines() for text in texts), n=1, lineterm=""))[2:]
        told = [f"    {line}" for line in lines if not line.startswith("@@")]
        if texts[0] != texts[1]:
            missing = "" if all(texts) else " (only before)" if texts[0] else " (only after)"
            alike["\n".join(told)].append(f"{file}{missing or largest(*texts)}")
    for told, names in alike.items():
        more = [f"and {len(names) - LINES} more alike"] if len(names) > LINES else []
        sys.stdout.write("\n".join([*names[:LINES], *more, *told.split("\n")[:LINES], ""]))
    different = sum(map(len, alike.values()))
    sys.stdout.write(f"{len(every)} answers, {different} of them differ, in {len(alike)} ways\n")
    return 1 if different or not every else 0


def main() -> int | None:
    parser = argparse.ArgumentParser(prog="python -m tests.sameness")
    parser.add_argument("way", choices=["keep", "compare"])
    parser.add_argument("folders", type=Path, nargs="+", help="a new one to keep in; two to compare")
    parser.add_argument("--inputs", type=Path, help="files to measure, made there if it does not exist")
    given = parser.parse_args()
    if given.way == "compare":
        return compare(*given.folders)
    return keep(*given.folders, given.inputs or Path(f"{given.folders[0]}_inputs"))


if __name__ == "__main__":
    sys.exit(main())
