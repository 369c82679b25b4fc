"""For tests of backups: what a backup holds, and commands on data of their own."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

from django.db import connection

from studio.backup import manifest
from studio.backup.moment import names
from tests.studio.serving import ROOT, environment

# ends the process when a function of ours is reached for the nth time: `before` it runs or `after`
KILLING = """
import os, signal, sys, django
from importlib import import_module
django.setup()
place, name, nth, when, *command = sys.argv[1:]
module, _, inner = place.partition(":")
owner = import_module(module)
owner = getattr(owner, inner) if inner else owner
real, calls = getattr(owner, name), []
def killing(*args, **kwargs):
    calls.append(1)
    last = len(calls) == int(nth)
    if last and when == "before":
        os.kill(os.getpid(), signal.SIGKILL)
    found = real(*args, **kwargs)
    if last:
        os.kill(os.getpid(), signal.SIGKILL)
    return found
setattr(owner, name, killing)
from django.core.management import call_command
call_command(*command)
"""


def sha256(file):
    return hashlib.sha256(file.read_bytes()).hexdigest()


def named_by_rows(folder):
    """Every file that a row of the backup's database names, read from that database itself."""
    with closing(sqlite3.connect(folder / "studio.sqlite3")) as copy:
        return names(lambda question: copy.execute(question).fetchall())


def not_as_it_was(folder, written):
    """Names of rows whose file is not in the backup, or is not what was ever written under that name."""
    return [
        name
        for name in named_by_rows(folder)
        if not (file := folder / "files" / name).is_file() or sha256(file) not in written[name]
    ]


def copy_of_the_site(data, files):
    """Put the test's rows and files into a data folder, as a site of its own."""
    data.mkdir()
    shutil.copytree(files, data / "files", ignore=shutil.ignore_patterns(".held"))
    with (
        closing(sqlite3.connect(connection.settings_dict["NAME"])) as rows,
        closing(sqlite3.connect(data / "studio.sqlite3")) as copy,
    ):
        rows.backup(copy)


def manage(data, *arguments, **given):
    """Run a command of ours on a data folder; return how it ended and all it said."""
    ran = subprocess.run(  # noqa: S603
        [sys.executable, "manage.py", *map(str, arguments)],
        cwd=ROOT,
        env=environment(data, **given),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    return ran.returncode, ran.stdout


def killed_at(point, command, data, **given):
    """Run a command in a process that is killed at that point; return how it ended."""
    place, name, nth, when = point
    surroundings = environment(data, **given)
    return subprocess.run(  # noqa: S603
        [sys.executable, "-c", KILLING, place, name, str(nth), when, *map(str, command)],
        cwd=ROOT,
        env=surroundings | {"DJANGO_SETTINGS_MODULE": "studio.settings"},
        capture_output=True,
        check=False,
    ).returncode


def note_anew(folder, change):
    """Change a backup and have its manifest say so, as one who hides it would."""
    change(folder)
    said = manifest.read(folder)
    for path in said.files:
        said.add(folder, path)
    said.write(folder)


def everything_below(folder: Path):
    return {file.relative_to(folder): sha256(file) for file in folder.rglob("*") if file.is_file()}
