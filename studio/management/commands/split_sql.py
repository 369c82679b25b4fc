"""Prints the SQL that lays a PostgreSQL's tables in partitions by studio."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, models
from django.db.migrations.loader import MigrationLoader

Model = type[models.Model]

FIRST = """-- By hand, while nothing runs, with a backup at hand. Later migrations find tables in partitions.
SET CONSTRAINTS ALL IMMEDIATE;"""
# the column that was an identity is numbered by a sequence from now on: partitions know none before 17
ASIDE = """
ALTER TABLE "{table}" RENAME TO "{table}_whole";
CREATE TABLE "{table}" (LIKE "{table}_whole" INCLUDING DEFAULTS INCLUDING CONSTRAINTS)
  PARTITION BY HASH (studio_id);"""
PART = """CREATE TABLE "{table}_{part}" PARTITION OF "{table}"
  FOR VALUES WITH (MODULUS {parts}, REMAINDER {part});"""
FILL = """INSERT INTO "{table}" SELECT * FROM "{table}_whole";
CREATE SEQUENCE "{table}_numbers" OWNED BY "{table}".id;
SELECT setval('"{table}_numbers"', last_value, is_called) FROM {sequence};
ALTER TABLE "{table}" ALTER COLUMN id SET DEFAULT nextval('"{table}_numbers"');"""
DROP = 'DROP TABLE "{table}_whole" CASCADE;'
# whoever knows a row by its number alone still finds it by an index of each part
KEYS = """
ALTER TABLE "{table}" ADD PRIMARY KEY (studio_id, id);
CREATE INDEX "{table}_by_number" ON "{table}" (id);"""
# it is there once without the studio: of parts each would know but of its own
FOUND_BY = 'CREATE INDEX "{table}_by_{column}" ON "{table}" ({column});'
LEADS = """ALTER TABLE "{table}" ADD CONSTRAINT "{name}" FOREIGN KEY ({columns})
  REFERENCES "{other}" ({others}) DEFERRABLE INITIALLY DEFERRED;"""


def split(parts: int) -> Iterator[str]:
    """Yield the statements; they are of one transaction, and tables are told as the migrations leave them."""
    models_ = MigrationLoader(connection).project_state().apps.get_models(include_auto_created=True)
    split_up = [model for model in models_ if _is_of_a_studio(model)]
    yield FIRST
    for model in split_up:
        yield from _laid(model, parts)
    for model in split_up:  # with them goes whatever leads to them
        yield DROP.format(table=model._meta.db_table)
    for model in split_up:
        yield from _keys(model)
    for model in split_up:
        yield from (_leading(field) for field in _foreign(model))


def _is_of_a_studio(model: Model) -> bool:
    return any(field.name == "studio" for field in _foreign(model))


def _foreign(model: Model) -> list[models.ForeignKey[Any, Any]]:
    return [field for field in model._meta.local_concrete_fields if isinstance(field, models.ForeignKey)]


def _laid(model: Model, parts: int) -> Iterator[str]:
    table = model._meta.db_table
    with connection.cursor() as cursor:
        (sequence,) = connection.introspection.get_sequences(cursor, table)
    yield ASIDE.format(table=table)
    yield from (PART.format(table=table, part=part, parts=parts) for part in range(parts))
    yield FILL.format(table=table, sequence=connection.ops.quote_name(sequence["name"]))


def _keys(model: Model) -> Iterator[str]:
    table = model._meta.db_table
    yield KEYS.format(table=table)
    for field in model._meta.local_concrete_fields:
        if field.unique and not field.primary_key:
            yield FOUND_BY.format(table=table, column=field.column)
    unique = [key for key in model._meta.constraints if isinstance(key, models.UniqueConstraint)]
    editor: Any = connection.schema_editor(collect_sql=True)  # whose stub has no indexes
    yield from (f"{made};" for made in editor._model_indexes_sql(model))
    yield from (f"{key.create_sql(model, editor)};" for key in unique)


def _leading(field: models.ForeignKey[Any, Any]) -> str:
    table, other = field.model._meta.db_table, field.related_model
    by = ["studio_id"] if _is_of_a_studio(other) else []
    return LEADS.format(
        table=table,
        name=f"{table}_{field.column}_leads",
        columns=", ".join([*by, field.column]),
        other=other._meta.db_table,
        others=", ".join([*by, "id"]),
    )


class Command(BaseCommand):
    help = "Print the SQL that lays a PostgreSQL's tables in N partitions by studio, with all their rows."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--parts", type=int, required=True, metavar="N")

    def handle(self, *_args: Any, parts: int, **_options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        if connection.vendor != "postgresql":
            raise CommandError("Only a PostgreSQL has partitions: set DATABASE_URL.")
        self.stdout.write("\n".join(["BEGIN;", *split(parts), "COMMIT;"]))
