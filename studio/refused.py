"""What forms refuse, as one list that a page shows first: each line leads to its field."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django import forms
from django.forms import BaseForm, BaseFormSet, BoundField

# of these every choice is an input of its own, so that one leads to the first
SEVERAL_INPUTS = (forms.RadioSelect, forms.CheckboxSelectMultiple)

Given = BaseForm | BaseFormSet[forms.Form] | Iterable[BaseForm] | None


@dataclass(frozen=True)
class Wrong:
    """One thing that is to be put right: what is said, of which field, and the id of its input."""

    said: str
    about: str = ""
    to: str = ""


def wrong_in(given: Iterable[Given]) -> list[Wrong]:
    """Return what is wrong with forms, sets and lists of forms, in the order of the page; none for None."""
    return [wrong for one in given for wrong in _of_one(one)]


def _of_one(given: Given) -> Iterator[Wrong]:
    if isinstance(given, BaseForm):
        yield from _of_form(given)
        return
    if isinstance(given, BaseFormSet):
        yield from (Wrong(str(error)) for error in given.non_form_errors())
    for form in given or ():
        yield from _of_form(form)


def _of_form(form: BaseForm) -> Iterator[Wrong]:
    if not form.errors:
        return
    row = str(getattr(form, "row_label", ""))  # where a page has the same field once a row
    for error in form.non_field_errors():
        yield Wrong(str(error), row)
    for field in form:
        about = ", ".join(filter(None, (row, str(field.label))))
        for error in field.errors:
            yield Wrong(str(error), about, _input_of(field))


def _input_of(field: BoundField) -> str:
    """Return the id that a link can lead to, '' where nobody sees the field."""
    if field.is_hidden:
        return ""
    return f"{field.auto_id}_0" if isinstance(field.field.widget, SEVERAL_INPUTS) else field.id_for_label
