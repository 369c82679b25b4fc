"""Who asks: the person of a session with their few memberships, in the one query that every page makes."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet

from studio.models import Member, Person

# where a person carries what was read with them
CARRIED = "_present"


def signed_in(person_id: Any) -> Person | None:  # noqa: ANN401  # as the session has it
    """Return the person, who carries where they are a member; None for nobody."""
    present = list(_memberships().filter(person=person_id).select_related("person", "studio"))
    if not present:
        return Person.objects.filter(pk=person_id).first()
    person = present[0].person
    vars(person)[CARRIED] = [_asking(member, person, present) for member in present]
    return person


def asking_as(person: Person, studio_id: int) -> Member | None:
    """Return the person's present membership of that studio, if there is one, to ask as."""
    present = getattr(person, CARRIED, None)
    if present is None:
        rows = list(_memberships().filter(person=person.pk).select_related("studio"))
        present = [_asking(member, person, rows) for member in rows]
    return next((member for member in present if member.studio_id == studio_id), None)


def _memberships() -> QuerySet[Member]:
    return Member.objects.current().order_by()


def _asking(member: Member, person: Person, present: list[Member]) -> Member:
    member.person, member.in_several = person, len(present) > 1
    return member
