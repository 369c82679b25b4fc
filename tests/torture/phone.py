"""Phones that are killed: `python -m tests.torture.phone [RUNS [SEED]]`; 60 without them, then 20 installed.

On the installed ones the site's worker is active: it shows copies where the line is slow or gone, and sends.

Each sends one round, a draft with numbers, two photos, a recording and a Send, while its pages, its browser
and its line are killed three times. It prints what was killed and fails where anything was lost or doubled.
"""

import os
import subprocess
import sys

RUNS, INSTALLED, TEST = 60, 20, "tests/browser/test_killed_phones.py"


def killed(runs, seed, worker):
    os.environ |= {"KILLED_PHONES": f"{seed},{runs}", "KILLED_PHONES_WORKER": worker}
    command = [
        sys.executable,
        "-m",
        "pytest",
        TEST,
        "-q",
        "-n",
        "0",
        "-p",
        "no:cacheprovider",
        "--capture=no",
    ]
    return subprocess.run(command, check=False).returncode  # noqa: S603


def main(runs=RUNS, seed=1):
    installed = min(runs, INSTALLED)
    return killed(runs, seed, "block") or killed(installed, seed, "allow")


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
