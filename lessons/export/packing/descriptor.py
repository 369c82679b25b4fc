"""The description of an export that programs read: a Data Package with a Table Schema for each table."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from lessons.export.packing.shapes import Column, Kind, Shape

Translate = Callable[[str], str]


def path_of(shape: Shape) -> str:
    """Return where the table's CSV lies in the export."""
    return f"csv/{shape.name}.csv"


def json_path_of(shape: Shape) -> str:
    """Return where the table's JSON lies in the export."""
    return f"json/{shape.name}.json"


def datapackage(
    shapes: Iterable[Shape], title: str, created: str, translate: Translate = str
) -> dict[str, Any]:
    """Return the descriptor of the tables.

    created     when the export was made, ISO 8601

    Source: Frictionless Standards v1: Data Package, Tabular Data Resource, Table Schema.
    """
    return {
        "profile": "data-package",
        "name": "reeds",
        "title": title,
        "created": created,
        "resources": [_resource(shape, translate) for shape in shapes],
    }


def _resource(shape: Shape, translate: Translate) -> dict[str, Any]:
    return {
        "profile": "tabular-data-resource",
        "name": shape.name,
        "path": path_of(shape),
        "description": translate(shape.said),
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "lineTerminator": "\r\n", "doubleQuote": True, "header": True},
        "schema": _schema(shape, translate),
    }


def _schema(shape: Shape, translate: Translate) -> dict[str, Any]:
    links = [
        {"fields": [column], "reference": {"resource": table, "fields": ["id"]}}
        for column, table in shape.leads.items()
    ]
    schema: dict[str, Any] = {"fields": [_field(column, translate) for column in shape.in_csv]}
    schema["missingValues"] = [""]
    if shape.key:
        schema["primaryKey"] = [shape.key]
    if links:
        schema["foreignKeys"] = links
    return schema


def _field(column: Column, translate: Translate) -> dict[str, Any]:
    described: dict[str, Any] = {
        "name": column.name,
        "type": column.kind.value,
        "description": translate(column.said),
    }
    if column.unit:
        described["unit"] = column.unit
    if column.words:
        described["constraints"] = {"enum": _enumerated(column)}
    return described


def _enumerated(column: Column) -> list[str | int]:
    words = [word for word, _label in column.words]
    return [int(word) for word in words] if column.kind is Kind.WHOLE else list(words)
