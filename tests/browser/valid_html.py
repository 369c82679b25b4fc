"""Whether pages are valid HTML, by the standard rules of html-validate: one run of it over all of them."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

from studio.management.commands.verify import MADE_OF, VALIDATES


def not_valid(pages: dict[str, bytes]) -> list[str]:
    """Return what is wrong, each with its page's path; pages are given by their paths."""
    assert VALIDATES.exists(), "html-validate is missing: manage.py verify installs it"
    with tempfile.TemporaryDirectory() as folder:
        files = {Path(folder, f"{count}.html"): path for count, path in enumerate(pages)}
        for file, path in files.items():
            file.write_bytes(pages[path])
        command = [VALIDATES, "--config", MADE_OF / "htmlvalidate.json", "--formatter", "text", *files]
        ran = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603
        told = ran.stdout + ran.stderr
        assert ran.returncode in (0, 1), told
        for file, path in files.items():
            told = told.replace(str(file), path)
        return told.splitlines() if ran.returncode else []
