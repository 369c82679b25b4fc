"""Measures one recording from the shell and prints what was heard as JSON."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from reeds.management.json_command import JsonCommand
from reeds.numbers.notes import NotANoteError, parse_note
from reeds.take.sound.analysis import analyse
from reeds.take.sound.decode import UnreadableTakeError, decode_take
from reeds.take.sound.items import ITEMS
from reeds.take.sound.stored import heard_to_json


class Command(JsonCommand):
    help = "Measure a recording: notes, cents, response, and what its item asks for, as JSON."
    refusals = (UnreadableTakeError, NotANoteError, ValueError)

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="a recording: m4a, mp4, WebM, Ogg, MP3, WAV or FLAC")
        parser.add_argument("--a4", type=float, default=440.0, help="the studio's A in Hz, 415 to 446")
        parser.add_argument("--item", choices=sorted(ITEMS), help="the item of the playing test")
        parser.add_argument("--expect", help="the notes asked for, in order, such as D4,C4,Bb3")

    def answer(self, options: dict[str, Any]) -> object:
        heard = analyse(
            decode_take(options["file"]),
            a4_hz=options["a4"],
            item=options["item"],
            expect=_numbers(options["expect"]),
        )
        return heard_to_json(heard)


def _numbers(words: str | None) -> list[int] | None:
    if words is None:
        return None
    return [parse_note(word) for word in words.split(",")]
