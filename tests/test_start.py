"""What the web loads to start: no library of computation, nothing of ours that one page alone asks for."""

import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

ROOT = Path(__file__).parent.parent
HEAVY = {
    *("numpy", "cv2", "scipy", "parselmouth", "PIL", "pillow_heif", "av"),
    *("openpyxl", "reportlab", "weasyprint"),
}
# of ours, that one page or a task of the worker asks for: a tenth of the start
LATE = {
    "lessons.comparison.pages.ask",
    "lessons.export.bundle",
    "lessons.export.gathering",
    "lessons.foretelling.chances",
    "lessons.log.pages",
    "lessons.log.writing",
    "reeds.photo.vision.card_view",
    "reeds.photo.vision.landmarks",
}
# as the server loads it, all views with it, and the templates' libraries beside
THE_WEB = """
import sys
from studio.wsgi import application
from django.template import engines
engines["django"].from_string("{% load figures %}")
{and_then}
print(*sorted({*sys.modules} & {*sys.argv[1:]}))
"""


def loaded(and_then=""):
    """Which of them are there in a fresh process, once the web stands."""
    command = [sys.executable, "-c", THE_WEB.replace("{and_then}", and_then), *sorted(HEAVY | LATE)]
    ran = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT)  # noqa: S603
    return set(ran.stdout.split())


def test_the_web_starts_without_any_of_them():
    assert loaded() == set()


def test_the_first_name_asked_for_brings_it_and_a_part_replaced_is_heeded():
    then = (
        "from reeds.numbers.late import np; import numpy; numpy.pi = np.array([3]).sum(); assert np.pi == 3"
    )
    assert loaded(then) == {"numpy"}


def test_those_of_ours_are_where_they_are_said_to_be():
    assert [name for name in sorted(LATE) if not find_spec(name)] == []
