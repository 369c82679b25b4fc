"""Django's form widgets written as its own templates write them, without opening one for each part of each.

A page has dozens of fields, and a list of forty students is an included template for each of its options.
What is not told here, and an error that is to be shown, is left to Django's templates;
tests/studio/test_widgets_written.py holds one against the other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from django import forms
from django.forms.renderers import DjangoTemplates
from django.forms.utils import flatatt
from django.http import HttpRequest
from django.utils.html import conditional_escape, escape, format_html
from django.utils.safestring import SafeData, SafeString, mark_safe

Widget = Mapping[str, Any]
IN = "django/forms/widgets/"
INPUTS = (
    *("input", "text", "number", "email", "url", "password", "hidden"),
    *("date", "datetime", "time", "file", "checkbox"),
)
CHOICES = ("multiple_input", "radio", "checkbox_select")
OPTIONS = {f"{IN}{name}.html" for name in ("radio_option", "checkbox_option")}
LABEL = "django/forms/label.html"
ERRORS = ("django/forms/errors/list/default.html", "django/forms/errors/list/ul.html")


class Written(DjangoTemplates):
    """The renderer of all forms."""

    def render(self, template_name: str, context: dict[str, Any], request: HttpRequest | None = None) -> str:
        if template_name in ERRORS and not context["errors"]:
            return ""
        if template_name == LABEL and context["use_tag"]:
            return _label(context)
        write = WRITTEN.get(template_name)
        written = write(context["widget"]) if write else None
        return written or super().render(template_name, context, request)


def _shown(value: object) -> str:
    return str(value) if isinstance(value, SafeData) else escape(str(value))


def _attributes(widget: Widget) -> str:
    told = ((name, value) for name, value in widget["attrs"].items() if value is not False)
    return "".join(f" {name}" if value is True else f' {name}="{_shown(value)}"' for name, value in told)


def _label(context: Mapping[str, Any]) -> str:
    attributes = _attributes({"attrs": context["attrs"] or {}})
    return f"<{context['tag']}{attributes}>{conditional_escape(context['label'])}</{context['tag']}>"


def _input(widget: Widget) -> str:
    value = "" if widget["value"] is None else f' value="{_shown(widget["value"])}"'
    return f'<input type="{widget["type"]}" name="{_shown(widget["name"])}"{value}{_attributes(widget)}>'


def _textarea(widget: Widget) -> str:
    value = _shown(widget["value"]) if widget["value"] else ""
    return f'<textarea name="{_shown(widget["name"])}"{_attributes(widget)}>\n{value}</textarea>'


def _select(widget: Widget) -> str | None:
    if any(group for group, _options, _index in widget["optgroups"]):
        return None
    options = "".join(map(_option, _flat(widget["optgroups"])))
    return f'<select name="{_shown(widget["name"])}"{_attributes(widget)}>{options}\n</select>'


def _option(widget: Widget) -> str:
    label = conditional_escape(widget["label"])
    return f'\n  <option value="{_shown(widget["value"])}"{_attributes(widget)}>{label}</option>\n'


def _choices(widget: Widget) -> str | None:
    options = list(_flat(widget["optgroups"]))
    if any(group for group, _options, _index in widget["optgroups"]) or not all(map(_is_plain, options)):
        return None
    attrs = ((name, widget["attrs"].get(name)) for name in ("id", "class"))
    given = "".join(f' {name}="{_shown(value)}"' for name, value in attrs if value)
    rows = "".join(f"<div>\n    {_choice(option)}</div>" for option in options)
    return f"<div{given}>{rows}\n</div>"


def _is_plain(option: Widget) -> bool:
    return option["template_name"] in OPTIONS and bool(option["wrap_label"])


def _choice(widget: Widget) -> str:
    id_ = widget["attrs"].get("id")
    leads = f' for="{_shown(id_)}"' if id_ else ""
    return f"<label{leads}>{_input(widget)}\n {conditional_escape(widget['label'])}</label>\n\n"


def _flat(groups: Iterable[tuple[object, list[Widget], int]]) -> Iterable[Widget]:
    return (option for _group, options, _index in groups for option in options)


WRITTEN: dict[str, Callable[[Widget], str | None]] = {
    **dict.fromkeys([f"{IN}{name}.html" for name in INPUTS], _input),
    **dict.fromkeys([f"{IN}{name}.html" for name in CHOICES], _choices),
    f"{IN}textarea.html": _textarea,
    f"{IN}select.html": _select,
}


class LongSelect(forms.Select):
    """A select of hundreds of plain options, of which Django would make a dictionary each.

    It is for fields that may stay empty.
    """

    def use_required_attribute(self, initial: object) -> bool:  # as Django calls it
        return False

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:  # noqa: ANN401  # as Django calls it
        given = flatatt(self.build_attrs(self.attrs, {"name": name, **(attrs or {})}))
        chosen = "" if value is None else str(value)
        options = "\n".join(_plain_option(str(key), label, chosen) for key, label in self.choices)
        return format_html("<select{}>\n{}\n</select>", given, mark_safe(options))  # noqa: S308  # both escaped


def _plain_option(key: str, label: object, chosen: str) -> str:
    selected = " selected" if key == chosen else ""
    return f'<option value="{_escaped(key)}"{selected}>{_escaped(label)}</option>'


def _escaped(value: object) -> str:
    """Do what `escape` does, by one call: no label of an option is safe already."""
    return str(value).translate(ESCAPES)


ESCAPES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#x27;"})
