"""Sets the clock of a process on or back while it runs: by so many seconds as a file says.

Python imports a module of this name when it starts; `site.py` puts this folder into its path. What is shifted
is what the program sees of the time of day, not what it measures durations with.
"""

import faulthandler
import os
import signal
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


def _set():
    """Set the clock once, while nothing else runs here, then keep looking whether it is set anew."""
    import datetime as dt

    import time_machine

    offset_s = _offset_s() or 0
    now = dt.datetime.now(dt.UTC)
    traveller = time_machine.travel(now + dt.timedelta(seconds=offset_s), tick=True).start()
    threading.Thread(target=_keep_set, args=[traveller, offset_s], daemon=True).start()


def _keep_set(traveller, offset_s):
    from datetime import timedelta

    while True:
        time.sleep(EVERY_S)
        told_s = _offset_s()
        if told_s is not None and told_s != offset_s:
            traveller.shift(timedelta(seconds=told_s - offset_s))
            offset_s = told_s


if TOLD:  # children that open what people sent are not given it
    faulthandler.register(signal.SIGUSR2)  # who hangs can be asked where
    _set()
