"""Prints what `manage.py check` costs: seconds of the processor from a fresh process to its end.

`python -m tests.bench.start`: it loads all that the web loads. Once as anybody has it, with compiled files
that Python kept at an earlier start; once with none of ours, as where PYTHONDONTWRITEBYTECODE is set. A bare
Python beside them, all in turn; medians of 7 of the children's own time of the processor, user and system.
Bound for both: 1.0 s. The same figures as JSON at the end.
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile

ROUNDS = 7
SECONDS = 1.0
BARE = "a bare Python"


def worked_s(command, surroundings):
    """Return the seconds that processors worked for a child of ours."""
    child = subprocess.Popen(command, env=surroundings, stdout=subprocess.DEVNULL)  # noqa: S603
    _pid, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    assert child.returncode == 0, command
    return used.ru_utime + used.ru_stime


def starts(folder):
    """Return what is started, and in which surroundings, by name."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    kept |= {"DATA_DIR": folder}
    check = [sys.executable, "manage.py", "check"]
    return {
        "manage.py check": (check, kept | {"PYTHONPYCACHEPREFIX": f"{folder}/compiled"}),
        "manage.py check, nothing compiled": (check, kept | {"PYTHONDONTWRITEBYTECODE": "1"}),
        BARE: ([sys.executable, "-c", "pass"], kept),
    }


def measured():
    with tempfile.TemporaryDirectory() as folder:
        all_starts = starts(folder)
        for each in all_starts.values():
            worked_s(*each)  # what is compiled is kept now
        rounds = [{name: worked_s(*each) for name, each in all_starts.items()} for _ in range(ROUNDS)]
    return {name: statistics.median(one[name] for one in rounds) for name in rounds[0]}


def main():
    rows = [
        {"start": name, "seconds": round(taken, 3), "bound": None if name == BARE else SECONDS}
        for name, taken in measured().items()
    ]
    for row in rows:
        row["met"] = row["bound"] is None or row["seconds"] <= row["bound"]
        asked = f" (bound {row['bound']:g}): {'met' if row['met'] else 'NOT MET'}" if row["bound"] else ""
        sys.stdout.write(f"{row['start']}: {row['seconds']:.2f} s of the processor{asked}\n")
    sys.stdout.write(json.dumps(rows) + "\n")
    return int(not all(row["met"] for row in rows))


if __name__ == "__main__":
    sys.exit(main())
