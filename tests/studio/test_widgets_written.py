"""Widgets written by ourselves are, letter for letter, what Django's templates make of them."""

import datetime as dt

import pytest
from django import forms
from django.forms.renderers import DjangoTemplates, get_default_renderer
from django.test import SimpleTestCase
from django.utils.safestring import mark_safe
from django.utils.translation import gettext_lazy

from studio.widgets_written import WRITTEN, LongSelect, Written

NASTY = """<b>"x"</b> & 'y' ⟦ü⟧"""
FLAT = [("", "---"), ("a", NASTY), (3, gettext_lazy("teacher")), (NASTY, mark_safe("<i>safe</i>"))]
GROUPED = [("", "none"), ("group <1>", [("a", "A"), ("b", "B")])]
ATTRS = {"class": "wide <", "required": True, "disabled": False, "data-n": 0.5, "data-x": NASTY}


def forms_of(renderer):
    class Zoo(forms.Form):
        line = forms.CharField(max_length=5, initial=NASTY, help_text="help")
        number = forms.FloatField(min_value=0.5, initial=1.25, localize=True)
        whole = forms.IntegerField(required=False, min_value=1)
        mail = forms.EmailField(required=False)
        secret = forms.CharField(widget=forms.PasswordInput(attrs=ATTRS), initial="x")
        unseen = forms.CharField(widget=forms.HiddenInput, initial=NASTY)
        several_unseen = forms.MultipleChoiceField(
            choices=FLAT, widget=forms.MultipleHiddenInput, initial=["a", 3]
        )
        text = forms.CharField(widget=forms.Textarea(attrs=ATTRS), initial=NASTY)
        no_text = forms.CharField(widget=forms.Textarea, required=False)
        day = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}), initial=dt.date(2026, 1, 2))
        moment = forms.DateTimeField(initial=dt.datetime(2026, 1, 2, 3, 4, tzinfo=dt.UTC), localize=True)
        at = forms.TimeField(widget=forms.TimeInput(format="%H:%M"), initial=dt.time(7, 5))
        when = forms.SplitDateTimeField(initial=dt.datetime(2026, 1, 2, 3, 4, tzinfo=dt.UTC))
        yes = forms.BooleanField(initial=True, required=False)
        no = forms.BooleanField(required=False)
        one = forms.ChoiceField(choices=FLAT, initial=3)
        grouped = forms.ChoiceField(choices=GROUPED, initial="b")
        many = forms.MultipleChoiceField(choices=FLAT, initial=["a", NASTY])
        radio = forms.ChoiceField(choices=FLAT, widget=forms.RadioSelect(attrs=ATTRS), initial="a")
        boxes = forms.MultipleChoiceField(choices=FLAT, widget=forms.CheckboxSelectMultiple, initial=[3])
        boxes_grouped = forms.MultipleChoiceField(choices=GROUPED, widget=forms.CheckboxSelectMultiple)
        file = forms.FileField()
        picture = forms.FileField(widget=forms.FileInput(attrs=ATTRS))
        maybe = forms.NullBooleanField()

    asked = {"line": "far too long", "number": "x", "one": "no", "boxes": ["a"], "text": NASTY, "yes": "on"}
    return [Zoo(renderer=renderer), Zoo(asked, renderer=renderer), Zoo(auto_id=False, renderer=renderer)]


def test_every_widget_is_what_djangos_templates_make_of_it():
    seen = set()
    for theirs, ours in zip(forms_of(DjangoTemplates()), forms_of(Written()), strict=True):
        for field in theirs:
            assert str(ours[field.name]) == str(field), field.name
            assert ours[field.name].label_tag(attrs=ATTRS) == field.label_tag(attrs=ATTRS), field.name
            assert ours[field.name].legend_tag(NASTY) == field.legend_tag(NASTY), field.name
            assert str(ours[field.name].errors) == str(field.errors), field.name
            seen.add(field.field.widget.template_name)
        assert str(ours) == str(theirs)
    unseen = {name.rpartition("/")[2] for name in WRITTEN.keys() - seen}
    assert unseen == {"input.html", "url.html", "multiple_input.html"}


def test_the_sites_forms_are_written_by_it():
    assert isinstance(get_default_renderer(), Written)


@pytest.mark.parametrize("chosen", [None, "", "a", 3, "3", NASTY])
def test_a_long_select_is_the_same_but_for_white_space(chosen):
    rows = [*FLAT[:3], (NASTY, "plain")]
    ours, theirs = (kind(choices=rows, attrs=ATTRS) for kind in (LongSelect, forms.Select))
    assert_html_equal = SimpleTestCase().assertHTMLEqual
    assert_html_equal(ours.render("x", chosen, {"id": "y"}), theirs.render("x", chosen, {"id": "y"}))
    assert not ours.use_required_attribute(None)
