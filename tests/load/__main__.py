"""Load: 300 people of 30 grown studios at a real `manage.py serve`; p95 by request, errors, what was lost.

`python -m tests.load [--seconds 300] [--studios 30] [--services] [--data DIR] [--json FILE]`: nine students
and the teacher of each studio, each doing something every 10 to 30 s (`tests.load.people` has the mix). On
SQLite and a folder; with --services on a PostgreSQL and a SeaweedFS of its own. --data, and DATABASE_URL with
--services, name what is kept from run to run, since to grow the studios takes longer than to play. Everything
is on loopback and ends by itself. What was acknowledged is counted in the database afterwards; where any is
lost or doubled, or a request failed, it fails.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack, suppress
from pathlib import Path

from tests.services.postgresql import postgresql
from tests.services.seaweed import seaweed
from tests.studio.serving import ROOT, children_of, start, stop, wait_until
from tests.torture.ports import own_port

DRAIN_S = 900


class Load:
    """One run, with data of its own."""

    def __init__(self, folder, data, given):
        self.folder, self.file = folder, folder / "known.json"
        kept = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
        own = {"DATA_DIR": str(data), "DEMO": "0", "LOG_LEVEL": "ERROR", "PORT": str(own_port())}
        self.surroundings = kept | own | given
        self.address = f"http://127.0.0.1:{self.surroundings['PORT']}"
        data.mkdir(exist_ok=True)

    def run(self, *words):
        command = [sys.executable, *words]
        subprocess.run(command, cwd=ROOT, env=self.surroundings, check=True)  # noqa: S603

    def rows(self, what, given):
        self.file.write_text(json.dumps(given))
        self.run("-m", "tests.load.rows", what, str(self.file))
        return json.loads(self.file.with_suffix(f".{what}").read_text())

    def prepare(self, studios):
        self.run("manage.py", "migrate", "--verbosity", "0")
        self.run("manage.py", "createcachetable")
        if self.surroundings.get("S3_BUCKET"):
            self.run("manage.py", "bucket")
        if (missing := studios - self.rows("studios", {})["there"]) > 0:
            self.run("manage.py", "grow", "--studios", str(missing))
        return self.rows("make", {"studios": studios, "photo": str(self.folder / "photo.jpg")})

    def play(self, known, seconds):
        self.file.write_text(json.dumps(known | {"address": self.address}))
        self.run("-m", "tests.load.people", str(self.file), str(seconds))
        return json.loads(self.file.with_suffix(".said").read_text())

    def drained(self):
        """Return how the worker stood at the end, and how long it took to do what was left."""
        began, first = time.monotonic(), self.rows("left", {})
        left = first
        while left["tasks"] and time.monotonic() - began < DRAIN_S:
            time.sleep(2)
            left = self.rows("left", {})
        return first | {"then_s": time.monotonic() - began, "left": left["tasks"]}


def worked_s(pid):
    """Return the seconds that processors worked for the site: the same however busy the machine is."""
    found = 0
    for one in (pid, *children_of(pid)):
        with suppress(OSError):
            fields = Path(f"/proc/{one}/stat").read_text().rpartition(")")[2].split()
            found += int(fields[11]) + int(fields[12])
    return found / os.sysconf("SC_CLK_TCK")


def told(said):
    """The figures as a table."""
    yield f"load average {said['load_before']} before, {said['load_after']} after; {said['cores']} cores"
    yield f"{said['people']} people, {said['seconds']} s, {said['a_second']:.1f} requests a second"
    for kind, done in said["mix"].items():
        shares = ", ".join(f"{what} {times}" for what, times in done.items())
        yield f"of {sum(done.values())} things that {kind} do: {shares}"
    each_ms = said["worked_s"] * 1000 / max(1, sum(one["times"] for one in said["requests"]))
    yield f"web and worker: {said['worked_s']:.0f} s of processor, {each_ms:.0f} ms a request"
    for one in said["requests"]:
        times = f"median {one['median_ms']:.0f} ms, p95 {one['p95_ms']:.0f} ms, most {one['most_ms']:.0f} ms"
        yield f"{one['request']}: {one['times']} times, {times}, {one['failed']} failed"
    yield from (f"error, {times} times: {words}" for words, times in said["errors"].items())
    lag = said["lag"]
    yield (
        f"worker at the end: {lag['tasks']} tasks left, the oldest for {lag['oldest_s']:.0f} s; "
        f"{lag['left']} after {lag['then_s']:.0f} s more"
    )
    yield f"acknowledged: {said['acknowledged']}, of which lost or doubled: {len(said['wrong'])}"
    yield from (f"WRONG: {line}" for line in said["wrong"])


def went_wrong(said):
    """Whether a request failed, or something acknowledged is lost, doubled or undone at the end."""
    failed = any(one["failed"] for one in said["requests"])
    return failed or bool(said["errors"] or said["wrong"] or said["lag"]["left"])


def loaded(folder, data, where, seconds, studios):
    load = Load(folder, data, where)
    known = load.prepare(studios)
    output = folder / "output"
    site = start(load.surroundings, output, "--no-prepare")
    try:
        wait_until(lambda: "The studio is at" in output.read_text(), site)
        before, worked = os.getloadavg(), worked_s(site.pid)
        said = load.play(known, seconds)
        after, worked = os.getloadavg(), worked_s(site.pid) - worked
        lag = load.drained()
    finally:
        stop(site)
    counted = load.rows("count", {"kept": said.pop("kept")})
    people = len(known["students"]) + len(known["teachers"])
    machine = {"load_before": before, "load_after": after, "cores": os.cpu_count()}
    run = {"lag": lag, "people": people, "seconds": seconds, "worked_s": worked}
    return said | counted | machine | run


def main(words):
    asked = argparse.ArgumentParser(prog="python -m tests.load")
    asked.add_argument("--seconds", type=int, default=300)
    asked.add_argument("--studios", type=int, default=30)
    asked.add_argument("--services", action="store_true")
    asked.add_argument("--data", type=Path)
    asked.add_argument("--json", type=Path)
    given = asked.parse_args(words)
    with ExitStack() as around:
        folder = Path(around.enter_context(tempfile.TemporaryDirectory(prefix="load-")))
        where = {}
        if given.services:
            there = os.environ.get("DATABASE_URL")
            where["DATABASE_URL"] = there or around.enter_context(postgresql())
            where |= around.enter_context(seaweed()).surroundings
        said = loaded(folder, given.data or folder / "data", where, given.seconds, given.studios)
    for line in told(said):
        sys.stdout.write(f"{line}\n")
    if given.json:
        given.json.write_text(json.dumps(said))
    return int(went_wrong(said))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
