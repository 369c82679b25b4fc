"""The list of what a form refuses: what it says, and where its lines lead."""

import pytest
from django import forms
from django.template.loader import render_to_string

from studio.refused import Wrong, wrong_in


class Tied(forms.Form):
    length = forms.FloatField(label="tie length")
    seen = forms.ChoiceField(label="seen", choices=[("a", "A"), ("b", "B")], widget=forms.RadioSelect)
    key = forms.UUIDField(widget=forms.HiddenInput)

    def clean(self):
        raise forms.ValidationError("Not on a Sunday.")


class Row(Tied):
    row_label = "gouge"


def test_each_line_leads_to_its_field_and_a_hidden_one_nowhere():
    required = "This field is required."
    assert wrong_in([Tied({})]) == [
        Wrong("Not on a Sunday."),
        Wrong(required, "tie length", "id_length"),
        Wrong(required, "seen", "id_seen_0"),
        Wrong(required, "Key"),
    ]


def test_rows_of_a_set_and_of_a_list_say_which_they_are():
    rows = forms.formset_factory(Row, max_num=0, validate_max=True)
    given = rows({"form-TOTAL_FORMS": "1", "form-INITIAL_FORMS": "0", "form-0-length": "7"})
    found = wrong_in([given, [Row({}, prefix="x")], None, Tied()])
    assert [(one.about, one.to) for one in found if one.to] == [
        ("gouge, seen", "id_form-0-seen_0"),
        ("gouge, tie length", "id_x-length"),
        ("gouge, seen", "id_x-seen_0"),
    ]
    assert found[0].said.startswith("Please submit at most 0 forms")


# of a field of radios each says that it is wrong
@pytest.mark.parametrize(("data", "wrong_inputs"), [({}, 3), ({"length": 1, "seen": "a"}, 0)])
def test_the_list_stands_first_takes_the_focus_and_leads_to_what_is_there(data, wrong_inputs):
    form = Tied(data)
    text = render_to_string("studio/_fields.html", {"form": form})
    first = text.strip().split(">", 1)[0]
    assert first == '<div class="message message-error refused" role="alert" tabindex="-1" autofocus'
    for wrong in wrong_in([form]):
        assert wrong.said in text
        assert not wrong.to or (f'href="#{wrong.to}"' in text and f'id="{wrong.to}"' in text)
    assert text.count('aria-invalid="true"') == wrong_inputs


def test_where_nothing_is_wrong_nothing_is_said():
    assert "refused" not in render_to_string("studio/_fields.html", {"form": Tied()})
