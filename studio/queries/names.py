"""Names in the order in which people look for them, the same on every database."""

import unicodedata
from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import CharField, Func


class ByName(Func):
    """Sorts by a text as one reads it: “émile” before “Zoe”.

    SQLite compares bytes, so that capitals and accents would go before and after all others: there
    it sorts by `name_key`. PostgreSQL sorts in the root order of Unicode, whatever its locale.
    """

    function = "LOWER"
    arity = 1
    output_field = CharField()

    def as_sqlite(self, compiler: Any, connection: BaseDatabaseWrapper, **extra: Any) -> Any:
        return self.as_sql(compiler, connection, function="name_key", **extra)

    def as_postgresql(self, compiler: Any, connection: BaseDatabaseWrapper, **extra: Any) -> Any:
        template = '%(function)s(%(expressions)s) COLLATE "und-x-icu"'
        return self.as_sql(compiler, connection, template=template, **extra)


def name_key(name: str | None) -> str | None:
    """A name without capitals and accents.

    >>> name_key("Émile"), name_key("Zoe")
    ('emile', 'zoe')
    """
    if name is None:
        return None
    letters = unicodedata.normalize("NFKD", name.casefold())
    return "".join(letter for letter in letters if not unicodedata.combining(letter))


def teach_name_key(connection: BaseDatabaseWrapper, **_: Any) -> None:
    """Gives a new connection to SQLite the function that `ByName` sorts by."""
    if connection.vendor == "sqlite":
        connection.connection.create_function("name_key", 1, name_key, deterministic=True)
