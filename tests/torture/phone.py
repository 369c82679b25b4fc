"""Phones that are killed: `python -m tests.torture.phone [RUNS [SEED]]`; 60 without them.

Each sends one round, a draft with numbers, two photos, a recording and a Send, while its pages, its browser
and its line are killed three times. It prints what was killed and fails where anything was lost or doubled.
"""

import os
import sys

import pytest

RUNS, TEST = 60, "tests/browser/test_killed_phones.py"


def main(runs=RUNS, seed=1):
    os.environ["KILLED_PHONES"] = f"{seed},{runs}"
    return pytest.main([TEST, "-q", "-n", "0", "-p", "no:cacheprovider", "--capture=no"])


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
