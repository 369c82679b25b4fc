"""Why a backup was not made, or not brought back, as a sentence."""

from __future__ import annotations


class BackupError(Exception):
    """A backup cannot be made, checked or restored; the message says why."""


class BusyError(BackupError):
    """Another backup, check or restore is running."""
