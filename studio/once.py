"""A form sent twice, since its reply was lost or a finger was nervous, does once what it does.

A form that makes something carries a key made with its page: `{% once %}`, or a field of its own where the
key stays with the row. The answer that leads on is kept under a mark of the key and of all that was sent,
in the transaction of what it did; the same once more leads to the same place. What was refused is kept
nowhere, and other words under an old key are another form.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable

from django.db import OperationalError, models, transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from studio.models import Person
from studio.trouble import told

FIELD = "once"
# a page may lie open over a weekend
KEPT = dt.timedelta(days=7)
# whoever is led there has a step of signing in to do first: the form did nothing
SIGNING_IN = "/account/"


class SentForm(models.Model):
    """One form that did what it was sent for, and where its answer led."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    mark = models.CharField(max_length=64)
    to = models.TextField(blank=True)
    at = models.DateTimeField(default=timezone.now, db_index=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "mark"], name="form_sent_once")]

    def __str__(self) -> str:
        return self.to


def once(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Answer the second try of a form with a key as the first was answered."""

    def answer(request: HttpRequest) -> HttpResponse:
        person = request.user
        if request.method != "POST" or not isinstance(person, Person) or not request.POST.get(FIELD):
            return get_response(request)
        try:
            with transaction.atomic():
                return _answered(request, person, get_response)
        except OperationalError as error:  # before the view had its turn, or as its work was to be kept
            return told(error)

    return answer


def _answered(
    request: HttpRequest, person: Person, get_response: Callable[[HttpRequest], HttpResponse]
) -> HttpResponse:
    SentForm.objects.filter(at__lt=timezone.now() - KEPT).delete()
    row, is_first = SentForm.objects.get_or_create(person=person, mark=mark_of(request))
    if not is_first:
        return redirect(row.to)
    response = get_response(request)
    if response.status_code >= 500:
        transaction.set_rollback(True)
    elif response.status_code == 302 and not response["Location"].startswith(SIGNING_IN):
        SentForm.objects.filter(pk=row.pk).update(to=response["Location"])
    else:
        row.delete()
    return response


def mark_of(request: HttpRequest) -> str:
    """Return what two forms share that are one: address, key, and all fields and files."""
    said = [(name, request.POST.getlist(name)) for name in request.POST if name != "csrfmiddlewaretoken"]
    files = [(name, one.name, one.size) for name in request.FILES for one in request.FILES.getlist(name)]
    return hashlib.sha256(repr((request.get_full_path(), sorted(said), files)).encode()).hexdigest()
