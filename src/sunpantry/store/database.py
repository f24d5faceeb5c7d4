"""Opening the database: a file of the user by default, a PostgreSQL server by URL."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.pool import QueuePool, StaticPool

from sunpantry.errors import InputError
from sunpantry.store.store import Store
from sunpantry.store.types import StoreError

MIGRATIONS = Path(__file__).parent / "migrations"
LATEST = "0001"
BUSY_S = 15.0
# Any number that nothing else in the database uses: one migration at a time.
_MIGRATION_LOCK = 732_001


def default_url() -> str:
    """URL of the user's own file of designs.

    Returns
    -------
    str
        The environment's ``SUNPANTRY_STORE`` where it is set, else a file in the user's
        data directory.
    """
    named = os.environ.get("SUNPANTRY_STORE")
    if named:
        return named
    from platformdirs import user_data_path

    return f"sqlite:///{user_data_path('sunpantry', appauthor=False) / 'designs.sqlite'}"


def open_store(url: str | None = None) -> Store:
    """Open the saved designs, bringing the tables up to date first.

    Parameters
    ----------
    url : str, optional
        Database URL (``sqlite:///file`` or ``postgresql://…``); see :func:`default_url`.

    Returns
    -------
    Store

    Raises
    ------
    InputError
        When the URL cannot be used.
    StoreError
        When the database cannot be opened, or was written by a newer version.
    """
    engine = make_engine(url or default_url())
    try:
        migrate(engine)
    except StoreError:
        engine.dispose()
        raise
    except (DBAPIError, OSError) as error:
        engine.dispose()
        reason = str(getattr(error, "orig", None) or error).strip().splitlines()[0]
        raise StoreError(
            f"the saved designs at {engine.url.render_as_string()} cannot be opened: {reason}"
        ) from None
    return Store(engine)


def make_engine(url: str) -> Engine:
    """Set up the connections; nothing is opened yet."""
    try:
        if url.startswith("postgresql://"):
            url = url.replace("postgresql://", "postgresql+psycopg://", 1)
        if url.startswith("sqlite:"):
            return _sqlite(url)
        if url.startswith("postgresql+"):
            return create_engine(url, pool_pre_ping=True, pool_size=8, max_overflow=8)
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError):
        pass
    raise InputError.one(
        "store",
        url,
        "sqlite:///FILE or postgresql://USER@HOST/NAME",
        "for PostgreSQL, install sunpantry[postgresql]",
    )


def _sqlite(url: str) -> Engine:
    in_memory = url in {"sqlite://", "sqlite:///:memory:"}
    if not in_memory:
        Path(url.removeprefix("sqlite:///")).expanduser().parent.mkdir(parents=True, exist_ok=True)
    engine = create_engine(
        url,
        poolclass=StaticPool if in_memory else QueuePool,
        connect_args={"timeout": BUSY_S, "check_same_thread": False},
    )

    @event.listens_for(engine, "connect")
    def _prepare(raw: sqlite3.Connection, _record: Any) -> None:
        raw.isolation_level = None  # transactions are begun here, not by the driver
        for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
            raw.execute(f"PRAGMA {pragma}").close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        # A transaction that will write asks for the lock at once: no deadlock, no lost update.
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def migrate(engine: Engine) -> None:
    """Bring the tables up to date, one process at a time.

    Raises
    ------
    StoreError
        When the database was written by a newer version.
    """
    with engine.connect() as connection:
        if revision_of(connection) == LATEST:
            return
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        if connection.dialect.name == "postgresql":
            connection.execute(text(f"SELECT pg_advisory_xact_lock({_MIGRATION_LOCK})"))
        found = revision_of(connection)
        if found == LATEST:
            return
        if found is not None and found > LATEST:
            raise StoreError(
                f"the saved designs were written by a newer Sunpantry (tables {found}, this one "
                f"knows {LATEST}): update Sunpantry, or open another file"
            )
        _upgrade(connection)


def revision_of(connection: Connection) -> str | None:
    """Revision of the tables, ``None`` for an empty database."""
    from sqlalchemy import inspect

    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def _upgrade(connection: Connection) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    command.upgrade(config, "head")
