"""Sets the clock of a process on or back while it runs: by so many seconds as a file says.

Python imports a module of this name when it starts; `site.py` puts this folder into its path. What is shifted
is what the program sees of the time of day, not what it measures durations with.
"""

import os
import threading
import time

EVERY_S = 0.3
TOLD = os.environ.get("CLOCK_IS_SET_BY", "")


def _offset_s():
    try:
        with open(TOLD) as file:
            return int(file.read() or 0)
    except (OSError, ValueError):
        return None


def _keep_set():
    import datetime as dt

    import time_machine

    offset_s = _offset_s() or 0
    traveller = time_machine.travel(
        dt.datetime.now(dt.UTC) + dt.timedelta(seconds=offset_s), tick=True
    ).start()
    while True:
        time.sleep(EVERY_S)
        told_s = _offset_s()
        if told_s is not None and told_s != offset_s:
            traveller.shift(dt.timedelta(seconds=told_s - offset_s))
            offset_s = told_s


if TOLD:  # children that open what people sent are not given it
    threading.Thread(target=_keep_set, daemon=True).start()
