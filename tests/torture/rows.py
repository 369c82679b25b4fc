"""The studio that is tortured: made before, counted after. `python -m tests.torture.rows make|count FILE`.

A program of its own, since it looks into the database of another DATA_DIR than that of the tests.
"""

import datetime as dt
import json
import os
import sys
from collections import Counter
from pathlib import Path

STUDENTS, REEDS = 2, 12
TYPED = "tie_length"


def make():
    """Make a teacher, students with reeds, and a session each; return what clients have to know."""
    from django.test import Client

    from reeds.sheet.models.pattern import PatternVersion
    from tests import factories as make

    def person(member, **more):
        client = Client()
        client.force_login(member.person)
        return {"session": client.cookies["sessionid"].value, **more}

    teacher = make.teacher()
    version: PatternVersion = make.VersionFactory(pattern__studio=teacher.studio)
    students = [make.student(studio=teacher.studio) for _student in range(STUDENTS)]
    reeds = {
        student.pk: [make.ReedFactory(owner=student, version=version).pk for _reed in range(REEDS)]
        for student in students
    }
    return {
        "studio": teacher.studio_id,
        "item": version.test[0].key,
        "teacher": person(teacher),
        "students": [person(student, reeds=reeds[student.pk]) for student in students],
    }


def count(kept):
    """Compare rows and files with what was acknowledged; return figures, and a line for each wrong."""
    wrong = [line for look in (_lost, _doubled, _stuck, _files, _damaged) for line in look(kept)]
    return {"rows": _rows(), "wrong": wrong, "refused": _refused(), "failed": _failed()}


def _models():
    from lessons.answering.models import Answer, Reply
    from lessons.sending.models import Submission
    from lessons.voice.models import Voice
    from reeds.photo.models.photo import Photo
    from reeds.take.models import Take

    return {
        "photo": Photo,
        "take": Take,
        "round": Submission,
        "answer": Answer,
        "reply": Reply,
        "voice": Voice,
    }


def _rows():
    return {name: model._default_manager.count() for name, model in _models().items()}


def _lost(kept):
    """What was acknowledged and is not there as it was sent."""
    models = _models()
    for one in kept:
        rows = models[one["kind"]]._default_manager.filter(**one["where"])
        if rows.count() != 1:
            yield f"{rows.count()} rows of an acknowledged {one['kind']} {one['where']}"
            continue
        (row,) = rows
        if "number" in one and _typed(row) != [one["number"]]:
            yield f"round {row.pk} holds {_typed(row)} instead of {one['number']}"
        for name in {"photos", "takes"} & set(one):
            found = {str(key) for key in getattr(row, name).values_list("key", flat=True)}
            if found != set(one[name]):
                yield f"round {row.pk} holds {len(found)} {name}, acknowledged {len(one[name])}"


def _typed(round_):
    return [round(row.value, 1) for row in round_.measurements.filter(quantity=TYPED)]


def _doubled(_kept):
    """What is there twice: a number, an answer, words."""
    from lessons.answering.models import Answer, Reply
    from reeds.reed.models.measurement import Measurement

    for model, names in (
        (Measurement, ("reed", "quantity", "value", "photo", "take")),
        (Answer, ("submission", "author")),
        (Reply, ("words",)),
    ):
        rows = Counter(model._default_manager.values_list(*names))
        yield from (
            f"{model.__name__} {row} is there {times} times" for row, times in rows.items() if times > 1
        )


def _stuck(_kept):
    """What still waits for the worker though nothing runs any more."""
    from django_tasks_db.models import DBTaskResult

    from reeds.photo.models.measuring import PhotoMeasuring

    models = _models()
    for name, column in (("photo", "state"), ("take", "state"), ("voice", "sound_state")):
        rows = models[name]._default_manager.filter(**{column: "waiting"})
        yield from (f"{name} {row.pk} waits for ever" for row in rows)
    yield from (
        f"photo {row.photo_id} is looked for for ever"
        for row in PhotoMeasuring.objects.filter(state="waiting")
    )
    left = DBTaskResult.objects.filter(status__in=["READY", "RUNNING"])
    yield from (f"task {task.task_path} is left {task.status}" for task in left)


def _files(_kept):
    """Files that no row holds after the sweep, and rows whose file is gone."""
    from django.conf import settings
    from django.utils import timezone

    from reeds.sweep import HELD, sweep

    swept = sweep(timezone.now() + dt.timedelta(days=2))
    held = {
        name
        for rows in HELD.values()
        for model, fields in rows
        for field in fields
        for name in model._default_manager.exclude(**{field: ""}).values_list(field, flat=True)
        if name
    }
    there = _names_in_bucket() if settings.S3_BUCKET else _names_below(Path(settings.MEDIA_ROOT))
    sys.stderr.write(f"{swept} files swept, {len(there)} left\n")
    yield from (f"a file without a row: {name}" for name in sorted(there - held))
    yield from (f"a row without its file: {name}" for name in sorted(held - there))


def _names_below(root):
    return {str(file.relative_to(root)) for file in root.rglob("*") if file.is_file()}


def _names_in_bucket():
    from django.core.files.storage import default_storage

    return {name for name, _size, _at in default_storage.walk("")}


def _damaged(_kept):
    from django.db import connection

    with connection.cursor() as cursor:
        found = cursor.execute("PRAGMA integrity_check").fetchall()
    yield from (f"database: {line}" for (line,) in found if line != "ok")


def _refused():
    """What was acknowledged and then refused, with the sentence that its sender reads."""
    models = _models()
    return Counter(
        f"{name}: {row.refusal}"
        for name in ("photo", "take")
        for row in models[name]._default_manager.filter(state="refused")
    )


def _failed():
    from django_tasks_db.models import DBTaskResult

    rows = DBTaskResult.objects.filter(status="FAILED")
    return Counter(f"{row.task_path}: {row.traceback.strip().splitlines()[-1][:150]}" for row in rows)


def main(what, file):
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    import django

    django.setup()
    said = make() if what == "make" else count(json.loads(Path(file).read_text()))
    Path(file).with_suffix(f".{what}").write_text(json.dumps(said))


if __name__ == "__main__":
    main(*sys.argv[1:])
