"""The kill run: `python -m tests.torture [SECONDS [KILLS [SEED]]]`; 600 s and 200 kills without them.

With `bucket` before them files lie in a SeaweedFS, which is killed in the middle and started again.

It prints what was killed, how often, and what was counted, and fails where anything is wrong.
"""

import os
import sys
import tempfile
import threading
import time
from pathlib import Path

from tests.services.seaweed import seaweed

SECONDS, KILLS = 600, 200
AWAY_S = 5


def main(*given):
    if given[:1] != ("bucket",):
        return tortured(*map(int, given))
    with seaweed() as service:
        return tortured(*map(int, given[1:]), service=service)


def away_for_a_while(service, run):
    """Kill the service in the middle, and start it again."""
    while not run.site.starts:
        time.sleep(1)
    time.sleep(run.seconds / 2)
    service.stop()
    time.sleep(AWAY_S)
    service.start()
    threading.Event().wait()  # it dies with the thread that started it


def tortured(seconds=SECONDS, kills=KILLS, seed=1, service=None):
    with tempfile.TemporaryDirectory(prefix="torture-") as folder:
        os.environ["DATA_DIR"] = str(Path(folder) / "own")
        os.environ["DJANGO_SETTINGS_MODULE"] = "studio.settings"
        from tests.torture.run import Run

        run = Run(Path(folder), seconds, kills, seed, service and service.surroundings)
        if service:
            threading.Thread(target=away_for_a_while, args=(service, run), daemon=True).start()
        report = run.whole()
        sys.stdout.write(report.text)
        if report.wrong:
            sys.stdout.write(f"what the studio said:\n{run.site.said.read_text()[-4000:]}\n")
    return 1 if report.wrong else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
