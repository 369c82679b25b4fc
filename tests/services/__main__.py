"""Run a command beside a PostgreSQL of its own: `python -m tests.services python -m pytest tests/studio`."""

import os
import signal
import subprocess
import sys

from tests.services.postgresql import postgresql

if __name__ == "__main__":
    signal.signal(signal.SIGTERM, lambda *_given: sys.exit(143))  # so that the server is ended in order
    with postgresql() as address:
        given = os.environ | {"DATABASE_URL": address}
        sys.exit(subprocess.run(sys.argv[1:], env=given, check=False).returncode)  # noqa: S603
