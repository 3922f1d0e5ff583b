"""The archive in a site's shared PostgreSQL database: the same tables and views as the folder of Parquet files.

Tables lie in the schema `bolting_archive`, named `all_NAME`; the views beside them are those that the questions use. A
batch is one transaction, and importers take turns by a lock of the database: it keeps the same promises as the folder.
Recordings stay in the session folders.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from assistant.archive.store import HELD, Added, Connection, Held, held_by, slug, wanted_of
from assistant.archive.tables import ADDED, OF_SESSION, SCHEMA, TABLES, Gathered
from assistant.errors import BadSettings, ModelMissing, RecordNotWritable

PLACE = "bolting_archive"
SCHEMES = ("postgresql://", "postgres://")
"""How the address of a database begins; anything else is a folder."""
_LOCK = 0x626F6C74
_KINDS = {"DOUBLE": "DOUBLE PRECISION", "VARCHAR": "TEXT"}
_STAMPS = (("site", "VARCHAR"), ("month", "VARCHAR"), ("batch", "INTEGER"))


class Database:
    """One archive in one database.

    Args:
        address: "postgresql://..."; a password is better kept in the user's own `~/.pgpass`.

    Raises:
        ModelMissing: psycopg is not installed.
        BadSettings: the database cannot be reached, or its tables are of a newer program.
    """

    def __init__(self, address: str) -> None:
        self._psycopg = _driver()
        self.errors: type[Exception] = self._psycopg.Error
        self._address = address
        with self._open() as connection:
            self._make(connection)

    # ------------------------------------------------------------------------------------------------------- tables
    def _make(self, connection: Any) -> None:
        """Make tables and views where they are missing, and bring older ones up to date."""
        with connection.transaction():
            connection.execute("SELECT pg_advisory_xact_lock($1)", [_LOCK])
            there = connection.execute("SELECT to_regclass($1)", [f"{PLACE}.version"]).fetchone()[0] is not None
            version = connection.execute("SELECT version FROM version").fetchone()[0] if there else SCHEMA
            if version == SCHEMA and there:
                return
            if version != SCHEMA and version not in ADDED:
                raise BadSettings(
                    f"{self._name()}: its tables are of schema {version}; this program knows {SCHEMA}",
                    remedy="use a newer program, or another database",
                )
            connection.execute(f"CREATE SCHEMA IF NOT EXISTS {PLACE}")
            for step in range(version, SCHEMA):
                for table, columns in ADDED[step].items():
                    for column, value in columns.items():
                        kind = _kind(TABLES[table][column])
                        connection.execute(f"ALTER TABLE all_{table} ADD COLUMN {column} {kind} DEFAULT {value}")
            for table, columns in TABLES.items():
                shape = ", ".join(f"{name} {_kind(kind)}" for name, kind in (*columns.items(), *_STAMPS))
                connection.execute(f"CREATE TABLE IF NOT EXISTS all_{table} ({shape})")
                unique = "UNIQUE " if table == "sessions" else ""
                connection.execute(f"CREATE {unique}INDEX IF NOT EXISTS all_{table}_session ON all_{table} (session)")
            self._make_views(connection)
            connection.execute("CREATE TABLE IF NOT EXISTS version (version INTEGER)")
            connection.execute("DELETE FROM version")
            connection.execute("INSERT INTO version VALUES ($1)", [SCHEMA])

    def _make_views(self, connection: Any) -> None:
        for prefix, which in (("", "how = ''"), ("played_", "how <> ''")):
            for table in TABLES:
                connection.execute(f"DROP VIEW IF EXISTS {prefix}{table}")
                if table == "sessions":
                    query = f"SELECT * FROM all_sessions WHERE {which}"
                else:
                    last = "" if table in OF_SESSION else " AND s.last = t.last"
                    query = (
                        f"SELECT t.* FROM all_{table} t WHERE EXISTS (SELECT 1 FROM all_sessions s "
                        f"WHERE s.session = t.session AND s.{which}{last})"
                    )
                connection.execute(f"CREATE VIEW {prefix}{table} AS {query}")

    # ------------------------------------------------------------------------------------------------------- adding
    def contents(self) -> dict[str, Held]:
        """As `store.Store.contents`."""
        with self._open() as connection:
            return self._contents(connection)

    def _contents(self, connection: Any) -> dict[str, Held]:
        return held_by(connection.execute(f"SELECT {HELD} FROM all_sessions").fetchall())

    def add(self, sessions: Sequence[Gathered], *, sound: bool = False) -> Added:
        """As `store.Store.add`; recordings are not taken in.

        Raises:
            BadSettings: `sound` is wanted.
            RecordNotWritable: the database is unreachable or refuses; nothing of this batch was taken in.
        """
        if sound:
            raise BadSettings("a database keeps no recordings", remedy="leave --sound out, or name a folder")
        with self._writing() as connection:
            known = self._contents(connection)
            wanted = wanted_of(sessions, known)
            renewed = [name for name in wanted if name in known]
            batch = self._next_batch(connection)
            for table in OF_SESSION:
                connection.execute(f"DELETE FROM all_{table} WHERE session = ANY($1)", [renewed])
                self._copy(
                    connection,
                    table,
                    [
                        row | {"site": slug(each.site), "month": each.month, "batch": batch}
                        for each in wanted.values()
                        for row in each.rows.get(table, ())
                    ],
                )
        counts = {"known": len({each.session for each in sessions}) - len(wanted), "renewed": len(renewed)}
        return Added(new=len(wanted) - len(renewed), **counts)

    def add_relistened(self, rows: Sequence[dict[str, Any]]) -> int:
        """As `store.Store.add_relistened`."""
        with self._writing() as connection:
            places = connection.execute("SELECT session, site, month FROM all_sessions").fetchall()
            heard = connection.execute("SELECT DISTINCT session, last, models FROM all_relistened").fetchall()
            place_of, done = {session: (site, month) for session, site, month in places}, set(heard)
            batch = self._next_batch(connection)
            taken = [
                row | dict(zip(("site", "month"), place_of[row["session"]], strict=True)) | {"batch": batch}
                for row in rows
                if row["session"] in place_of and (row["session"], row["last"], row["models"]) not in done
            ]
            self._copy(connection, "relistened", taken)
            return len(taken)

    def recording(self, digest: str) -> Path | None:
        """As `store.Store.recording`: none is kept here."""
        del digest
        return None

    def _next_batch(self, connection: Any) -> int:
        found = "SELECT 1 + greatest((SELECT coalesce(max(batch), 0) FROM all_sessions), "
        return int(connection.execute(f"{found}(SELECT coalesce(max(batch), 0) FROM all_relistened))").fetchone()[0])

    def _copy(self, connection: Any, table: str, rows: Sequence[dict[str, Any]]) -> None:
        columns = [name for name, _ in (*TABLES[table].items(), *_STAMPS)]
        with connection.cursor().copy(f"COPY all_{table} ({', '.join(columns)}) FROM STDIN") as copying:
            for row in rows:
                copying.write_row([_clean(row.get(column)) for column in columns])

    # ------------------------------------------------------------------------------------------------------ reading
    @contextlib.contextmanager
    def connection(self, *, shut: bool = False) -> Iterator[Connection]:
        """As `store.Store.connection`; every connection for queries can only read."""
        del shut
        with self._open() as connection:
            connection.read_only = True
            yield _Reading(connection)
            connection.rollback()

    @contextlib.contextmanager
    def _open(self) -> Iterator[Any]:
        try:
            connection = self._psycopg.connect(
                self._address, cursor_factory=self._psycopg.RawCursor, connect_timeout=10, autocommit=False
            )
        except self._psycopg.Error as error:
            raise BadSettings(
                f"{self._name()} cannot be reached: {_first_line(error)}",
                remedy="look whether the server runs, and whether you may use this database",
            ) from None
        with contextlib.closing(connection):
            connection.execute(f"SET search_path = {PLACE}")
            connection.execute("SET TimeZone = 'UTC'")
            connection.commit()
            yield connection

    @contextlib.contextmanager
    def _writing(self) -> Iterator[Any]:
        """One transaction, alone."""
        with self._open() as connection:
            try:
                with connection.transaction():
                    connection.execute("SELECT pg_advisory_xact_lock($1)", [_LOCK])
                    yield connection
            except self._psycopg.Error as error:
                raise RecordNotWritable(
                    f"{self._name()}: {_first_line(error)}; nothing of this batch was taken in",
                    remedy="do the same again when the database is there: what was taken in before is passed over",
                ) from None

    def _name(self) -> str:
        """The address without the part before the host, which may hold a password."""
        return self._address.partition("://")[0] + "://" + self._address.partition("://")[2].rpartition("@")[2]


class _Reading:
    """A connection for queries that takes one statement at a time, with or without values."""

    def __init__(self, connection: Any) -> None:
        self._connection = connection

    def execute(self, query: str, values: Sequence[Any], /) -> Any:
        return self._connection.execute(query, list(values))


def _clean(value: Any) -> Any:
    """The text without zero characters, which PostgreSQL cannot hold."""
    return value.replace("\0", "\N{REPLACEMENT CHARACTER}") if isinstance(value, str) else value


def _kind(kind: str) -> str:
    return _KINDS.get(kind, kind)


def _first_line(error: Exception) -> str:
    return (str(error).strip() or type(error).__name__).splitlines()[0]


def _driver() -> Any:
    try:
        import psycopg
    except ImportError:
        raise ModelMissing(
            "a database needs psycopg, which is not installed",
            remedy="install the extra: .venv/bin/python -m pip install 'psycopg[binary]>=3.2'",
        ) from None
    return psycopg
