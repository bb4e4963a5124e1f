"""How does an app make all its first tables at once? Its first migration is one of these.

Django renders every related model anew after each single step, and in a gallery nearly everything
is related: a hundred tables one after the other take six times as long. Here the steps are told to
the state first and the tables made after that, from models rendered once. A table may then name one
that comes after it: SQLite looks at foreign keys when rows come, PostgreSQL gets them at the end.
"""

from __future__ import annotations

from typing import Any

from django.db import migrations


class FirstTables(migrations.Migration):
    """A migration of nothing but ``CreateModel``, in any order."""

    initial = True

    def apply(self, project_state: Any, schema_editor: Any, collect_sql: bool = False) -> Any:  # noqa: ARG002
        """Make the tables; the state that comes back holds them. As Django's own, but for order."""
        others = [one for one in self.operations if not isinstance(one, migrations.CreateModel)]
        if others:
            raise TypeError(f"{self} makes first tables only, not {others}.")
        vars(project_state).pop("apps", None)  # what was rendered; rendered anew when asked for
        for operation in self.operations:
            operation.state_forwards(self.app_label, project_state)
        for operation in self.operations:
            operation.database_forwards(self.app_label, schema_editor, project_state, project_state)
        return project_state
