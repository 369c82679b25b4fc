"""Run a command beside a PostgreSQL of its own: `python -m tests.services python -m pytest tests/studio`."""

import os
import shutil
import signal
import subprocess
import sys

from tests.services.postgresql import is_installed, postgresql

QUIET = {"DEBIAN_FRONTEND": "noninteractive"}


def install():
    """Install it where that is allowed (Debian, as root), or say what is missing."""
    if os.geteuid() != 0 or not shutil.which("apt-get"):
        sys.exit("PostgreSQL is not installed; on Debian or Ubuntu: apt-get install postgresql")
    for words in (("update", "-qq"), ("install", "-y", "-qq", "--no-install-recommends", "postgresql")):
        subprocess.run(["apt-get", *words], env=os.environ | QUIET, check=True, stdout=subprocess.DEVNULL)  # noqa: S603, S607


def main():
    signal.signal(signal.SIGTERM, lambda *_given: sys.exit(143))  # so that the server is ended in order
    if not is_installed():
        install()
    with postgresql() as address:
        given = os.environ | {"DATABASE_URL": address}
        sys.exit(subprocess.run(sys.argv[1:], env=given, check=False).returncode)  # noqa: S603


if __name__ == "__main__":
    main()
