"""Who plays in the load, and what is there afterwards: `python -m tests.load.rows WHAT FILE`.

A program of its own, since it looks into a database of another address than that of whoever starts it.
"""

import json
import os
import sys
from pathlib import Path

# students of each studio besides its teacher, and reeds that each can send in turn
STUDENTS, REEDS = 9, 12
SEEN = 10
PHOTO_SIZE = (4000, 3000)


def studios(_given):
    """How many grown ones there are besides the demo's."""
    from studio.models import Studio

    return {"there": max(0, Studio.objects.count() - 1)}


def make(given):
    """Sign everybody in and give the students reeds to send; return what they have to know."""
    from django_tasks_db.models import DBTaskResult

    from studio.models import Member, Role, Studio
    from tests.factories import picture

    DBTaskResult.objects.all().delete()  # what the demo's own photos wait for is no part of it
    Path(given["photo"]).write_bytes(picture(*PHOTO_SIZE))
    found = {"students": [], "teachers": [], "photo": given["photo"]}
    for studio in Studio.objects.order_by("-pk")[: given["studios"]]:
        members = Member.objects.filter(studio=studio).select_related("person").order_by("pk")
        teacher = members.filter(role=Role.TEACHER)[0]
        found["teachers"].append(_person(teacher))
        students = members.filter(role=Role.STUDENT)[:STUDENTS]
        found["students"] += [_person(student, **_reeds(student)) for student in students]
    return found


def _person(member, **more):
    from tests.signed_in import session_of

    return {"session": session_of(member.person), "studio": member.studio_id, **more}


def _reeds(student):
    from reeds.reed.models.reed import Reed

    theirs = Reed.objects.filter(owner=student).order_by("-number")
    newest = theirs[0]
    seen = list(theirs.values_list("pk", flat=True)[:SEEN])
    new = (
        Reed(
            studio_id=student.studio_id,
            owner=student,
            number=newest.number + place,
            version_id=newest.version_id,
            staple_length=45.0,
            stage="tied",
        )
        for place in range(1, REEDS + 1)
    )
    return {"seen": seen, "own": [reed.pk for reed in Reed.objects.bulk_create(new)]}


def left(_given):
    """How many tasks run, or wait though they could, and how long the oldest of them has."""
    from django.db.models import Q
    from django.utils import timezone
    from django_tasks_db.models import DBTaskResult

    could = Q(run_after__lte=timezone.now()) | Q(run_after__year__gte=9999)  # which stands for at once
    rows = DBTaskResult.objects.filter(Q(status="RUNNING") | Q(could, status="READY")).order_by("enqueued_at")
    first = rows.first()
    waited = (timezone.now() - first.enqueued_at).total_seconds() if first else 0.0
    return {"tasks": rows.count(), "oldest_s": waited}


def count(given):
    """Compare rows with what was acknowledged; return a line for each that is lost or doubled."""
    kept = given["kept"]
    wrong = [line for look in (_lost, _drafts, _doubled, _stuck) for line in look(kept)]
    return {"acknowledged": sum(one["kind"] != "tried" for one in kept), "wrong": wrong}


def _lost(kept):
    from lessons.answering.models import Answer
    from lessons.sending.models import Submission
    from reeds.photo.models.photo import Photo

    for one in kept:
        match one["kind"]:
            case "photo":
                rows = Photo.objects.filter(key=one["key"])
            case "answer":
                known = {"submission": one["submission"], "words": one["words"]}
                rows = Answer.objects.filter(**known, sent_at__isnull=False)
            case "round":
                known = {"key": one["key"], "question": one["question"], "photos__key": one["photo"]}
                rows = Submission.objects.filter(**known, sent_at__isnull=False)
            case _:
                continue
        if rows.count() != 1:
            yield f"{rows.count()} rows of an acknowledged {one}"


def _drafts(kept):
    """Of what was typed into a draft the last holds, or what was sent after it and had no reply yet."""
    from lessons.sending.models import Submission

    may_hold = {}
    for one in kept:
        match one["kind"]:
            case "tried":
                may_hold.setdefault(one["key"], []).append(one["question"])
            case "draft":
                before = may_hold.get(one["key"], [])
                may_hold[one["key"]] = before[before.index(one["question"]) :]
    for key in {one["key"] for one in kept if one["kind"] == "draft"}:
        (found,) = Submission.objects.filter(key=key).values_list("question", flat=True) or [None]
        if found not in may_hold[key]:
            yield f"draft {key} holds {found!r} instead of one of {may_hold[key]}"


def _doubled(kept):
    """A question is another each time: two rounds with one were one."""
    from lessons.answering.models import Answer
    from lessons.sending.models import Submission

    for model, field, name in ((Submission, "question", "question"), (Answer, "words", "words")):
        asked = {one[name] for one in kept if one["kind"] in ("round", "answer") and name in one}
        there = list(model.objects.filter(**{f"{field}__in": asked}).values_list(field, flat=True))
        yield from (
            f"{words!r} is there {there.count(words)} times" for words in {*there} if there.count(words) > 1
        )


def _stuck(kept):
    from reeds.photo.models.photo import Photo

    keys = [one["key"] for one in kept if one["kind"] == "photo"]
    for photo in Photo.objects.filter(key__in=keys).exclude(state="ready"):
        yield f"photo {photo.pk} is {photo.state}: {photo.refusal}"


def main(what, file):
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    import django

    django.setup()
    given = json.loads(Path(file).read_text())
    said = {"studios": studios, "make": make, "left": left, "count": count}[what](given)
    Path(file).with_suffix(f".{what}").write_text(json.dumps(said))


if __name__ == "__main__":
    main(*sys.argv[1:])
