"""Where the migration tool finds the tables; it is driven by ``store.database.migrate``."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"], transactional_ddl=False)
context.run_migrations()
