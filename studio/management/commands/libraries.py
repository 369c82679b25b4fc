"""The licences of the libraries that run with us; with --bill a file that lists them."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from studio.libraries import OURS, bill, locked


class Command(BaseCommand):
    help = (
        "List every library of the lock with its licence; fail where one is unknown or cannot go with ours."
    )
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--bill", action="store_true", help="write a CycloneDX bill instead")

    def handle(self, *_args: Any, **options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        lock = (settings.BASE_DIR / "requirements.txt").read_text()
        if options["bill"]:
            self._write(lock)
        else:
            self._list(lock)

    def _list(self, lock: str) -> None:
        libraries = locked(lock)
        for one in libraries:
            self.stdout.write(f"{one.name} {one.version}: {one.licence or 'not known'}")
        wrong = [one.name for one in libraries if not one.is_compatible]
        if wrong:
            raise CommandError(f"Unknown, or not compatible with {OURS}: {', '.join(wrong)}.")

    def _write(self, lock: str) -> None:
        project = tomllib.loads((settings.BASE_DIR / "pyproject.toml").read_text())["project"]
        file = Path(settings.DATA_DIR) / "sbom.json"
        file.write_text(json.dumps(bill(lock, project["version"]), indent=1) + "\n")
        self.stdout.write(f"Written: {file}")
