"""The kill run: `python -m tests.torture [SECONDS [KILLS [SEED]]]`; 600 s and 200 kills without them.

It prints what was killed, how often, and what was counted, and fails where anything is wrong.
"""

import os
import sys
import tempfile
from pathlib import Path

SECONDS, KILLS = 600, 200


def main(seconds=SECONDS, kills=KILLS, seed=1):
    with tempfile.TemporaryDirectory(prefix="torture-") as folder:
        os.environ["DATA_DIR"] = str(Path(folder) / "own")
        os.environ["DJANGO_SETTINGS_MODULE"] = "studio.settings"
        from tests.torture.run import Run

        run = Run(Path(folder), seconds, kills, seed)
        report = run.whole()
        sys.stdout.write(report.text)
        if report.wrong:
            sys.stdout.write(f"what the studio said:\n{run.site.said.read_text()[-4000:]}\n")
    return 1 if report.wrong else 0


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
