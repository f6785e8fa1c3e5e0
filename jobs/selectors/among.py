"""A condition for many ids at once, as one parameter of a query."""

import json
from collections.abc import Collection
from typing import Any

from django.core.exceptions import EmptyResultSet
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import BooleanField, F, Func
from django.db.models.sql.compiler import SQLCompiler


class AmongIds(Func):
    """Whether a column holds one of many ids.

    Same as ``column__in=ids``, where each id is a parameter of its own: hundreds of them take Django and the driver
    longer to put together than the database to answer.

    Args:
        column: the path to the ids, such as ``event__appliance``.
        ids: whole numbers, in any order.
    """

    output_field = BooleanField()

    def __init__(self, column: str, ids: Collection[int]) -> None:
        super().__init__(F(column))
        self.ids = list(ids)

    def as_sql(
        self, compiler: SQLCompiler, connection: BaseDatabaseWrapper, *_: Any, **__: Any
    ) -> tuple[str, Any]:
        """The condition for the database in use.

        Raises:
            EmptyResultSet: there are no ids; Django then asks the database nothing.
        """
        if not self.ids:
            raise EmptyResultSet
        column, parameters = compiler.compile(self.source_expressions[0])
        if connection.vendor == "postgresql":
            return f"{column} = ANY(%s)", (*parameters, self.ids)
        # The column's name is Django's own.
        return f"{column} IN (SELECT value FROM json_each(%s))", (*parameters, json.dumps(self.ids))  # noqa: S608
