"""Prints what Lighthouse says of four pages in its phone's profile, each opened several times.

`python -m tests.bench.lighthouse [TIMES]`: three times without it. Lighthouse comes from npm into a folder
that goes again, and drives Chromium before `manage.py serve` in production behind nginx, as a student who is
signed in. Told is the middle of its figures, and the best, since a busy machine makes all of them worse.
Bounds: 0.95 for how fast the best was, 1 for accessibility and best practices; what is short is named.
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.first_visit import ADDRESS, HOST, behind_nginx, pages

LIGHTHOUSE = "lighthouse@12"
BOUNDS = {"performance": 0.95, "accessibility": 1.0, "best-practices": 1.0}
TIMES = 3
FLAGS = "--headless --no-sandbox --disable-gpu --disable-quic --ignore-certificate-errors"


def installed(folder):
    """Install Lighthouse into this folder; return its program."""
    command = ["npm", "install", "--no-audit", "--no-fund", "--silent", "--prefix", str(folder), LIGHTHOUSE]
    subprocess.run(command, check=True)  # noqa: S603
    return Path(folder, "node_modules", ".bin", "lighthouse")


def judged(program, folder, address, session, secure):
    """Open a page once; return its scores, and the titles of what is short of them."""
    from tests.browser.conftest import browser_path

    out = Path(folder, "said.json")
    rules = f"--host-resolver-rules='MAP {HOST}:443 127.0.0.1:{secure}'"
    command = [
        str(program),
        address,
        f"--only-categories={','.join(BOUNDS)}",
        f"--extra-headers={json.dumps({'Cookie': f'__Host-sessionid={session}'})}",
        f"--chrome-flags={FLAGS} {rules}",
        "--output=json",
        f"--output-path={out}",
        "--quiet",
    ]
    subprocess.run(command, check=True, env=os.environ | {"CHROME_PATH": browser_path()})  # noqa: S603
    said = json.loads(out.read_text())
    assert said["finalDisplayedUrl"] == address, f"led to {said['finalDisplayedUrl']}"
    return {name: said["categories"][name]["score"] for name in BOUNDS}, set(_short(said))


def _short(said):
    for name in BOUNDS:
        for one in said["categories"][name]["auditRefs"]:
            audit = said["audits"][one["id"]]
            if one["weight"] and audit["score"] is not None and audit["score"] < BOUNDS[name]:
                yield f"{audit['title']} {audit.get('displayValue', '')}".strip()


def told(name, several, short):
    """Print a page's scores; return how many of them are short."""
    missed = []
    for which, bound in BOUNDS.items():
        scores = [scores[which] for scores in several]
        sys.stdout.write(f"{name}: {which} {statistics.median(scores):.2f}, best {max(scores):.2f}\n")
        if max(scores) < bound:
            missed.append(which)
    if missed:
        sys.stdout.write(f"  NOT MET: {', '.join(missed)}: {'; '.join(sorted(short))}\n")
    return len(missed)


def main(times=TIMES):
    missed = 0
    with tempfile.TemporaryDirectory() as folder, behind_nginx(folder) as secure:
        program = installed(Path(folder, "npm"))
        session, addresses = pages()
        for name, path in addresses.items():
            rows = [judged(program, folder, ADDRESS + path, session, secure) for _time in range(times)]
            missed += told(
                name, [scores for scores, _short in rows], set.union(*(short for _s, short in rows))
            )
    return int(missed > 0)


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
