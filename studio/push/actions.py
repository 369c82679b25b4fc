"""Choosing how one is told; each function is one transaction."""

from __future__ import annotations

from django.db import transaction

from studio.models import Person
from studio.push.phones import MOST_PHONES, Phone
from studio.told_by import TellBy


@transaction.atomic
def choose(person: Person, way: TellBy, device: dict[str, str] | None) -> Phone | None:
    """Keep how somebody wants to be told, and this device if it is given; return it.

    Otherwise than on devices, none is kept. An address belongs to a browser: whoever gave it last has it.
    """
    Person.objects.filter(pk=person.pk).update(told_by=way)
    if way is not TellBy.PHONE:
        Phone.objects.filter(person=person).delete()
    if device is None:
        return None
    Phone.objects.filter(endpoint=device["endpoint"]).delete()
    phone = Phone.objects.create(person=person, **device)
    kept = Phone.objects.filter(person=person).values_list("pk", flat=True)[:MOST_PHONES]
    Phone.objects.filter(person=person).exclude(pk__in=list(kept)).delete()
    return phone
