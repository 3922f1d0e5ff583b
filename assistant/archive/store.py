"""The archive on disk: Parquet files by table, site and month, and one catalog that says which of them count.

Promises:
1. A session counts once, however often and by however many importers it is added. A session that was continued,
   sealed or reviewed since replaces its earlier rows. A shorter copy does not, and neither does one whose journal
   differs.
2. A batch counts as a whole or not at all: its files are synced before the catalog names them, and the catalog is
   replaced in one step. What a stop leaves behind is not read, and the next batch removes it.
3. Session folders are never changed.
"""

from __future__ import annotations

import contextlib
import fcntl
import hashlib
import json
import os
import re
import secrets
import tempfile
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from assistant.archive.tables import ADDED, OF_SESSION, SCHEMA, TABLES, Gathered
from assistant.errors import BadSettings, ModelMissing, RecordNotWritable

if TYPE_CHECKING:
    import duckdb

CATALOG = "archive.json"
MOST_FILES = 4
"""Small files of one table, site and month; more are made into one. Each file costs every question that reads it."""
_STAMP = ("batch", "INTEGER")
_PLAIN = "hive_partitioning=false"
_OWN = {
    "lock",
    "data",
    "sound",
    f"{CATALOG}.part",
}  # may lie there before there is a catalog: a first batch was stopped


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """What one call took in.

    Args:
        new, renewed: sessions that are new, and that have changed since.
        known: sessions that were already there, unchanged.
        recordings: sound files that were copied, without those already there.
    """

    new: int = 0
    renewed: int = 0
    known: int = 0
    recordings: int = 0

    def __add__(self, other: Added) -> Added:
        """Both together."""
        return Added(
            new=self.new + other.new,
            renewed=self.renewed + other.renewed,
            known=self.known + other.known,
            recordings=self.recordings + other.recordings,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A session as the archive holds it.

    Args:
        content, lines, path: as `tables.Gathered` has them.
        last: SHA-256 of its journal's last line; "" where an older program took it in.
    """

    content: str
    lines: int
    path: str
    last: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalog:
    """Which files count.

    Args:
        batch: number of the last batch.
        files: by table, paths below the archive's folder.
        schema: version of the tables.
    """

    batch: int = 0
    files: dict[str, list[str]] = field(default_factory=dict)
    schema: int = SCHEMA


class Cursor(Protocol):
    """The result of a query."""

    @property
    def description(self) -> Sequence[Any] | None:
        """A row for each column; its name comes first."""
        ...

    def fetchall(self) -> list[tuple[Any, ...]]:
        """All rows."""
        ...


class Connection(Protocol):
    """Runs queries on the documented views; DuckDB's and psycopg's connections are both such."""

    def execute(self, query: str, values: Sequence[Any], /) -> Cursor:
        """Run one query; `$1` stands for the first of the values."""
        ...


class Store(Protocol):
    """Where an archive is kept: a folder of Parquet files (`Archive`), or a site's database (`postgres.Database`)."""

    errors: type[Exception]
    """What its engine raises where a query is wrong."""

    def contents(self) -> dict[str, Held]:
        """Every session that counts, rehearsals too."""
        ...

    def add(self, sessions: Sequence[Gathered], *, sound: bool = False) -> Added:
        """Take in sessions as one batch: whole or not at all.

        Raises:
            RecordNotWritable: it cannot be written; nothing of the batch was taken in.
        """
        ...

    def add_relistened(self, rows: Sequence[dict[str, Any]]) -> int:
        """Take in rows of `relistened`, each session once for its last line and the models; how many were taken in.

        Raises:
            RecordNotWritable: as `add`.
        """
        ...

    def connection(self, *, shut: bool = False) -> contextlib.AbstractContextManager[Connection]:
        """A connection for queries; `shut` for queries from people: nothing can be written, and nothing else read."""
        ...

    def recording(self, digest: str) -> Path | None:
        """The file of a recording that was copied in; None where it was not."""
        ...


class Archive:
    """An archive in a folder.

    Args:
        folder: created by the first `add`.

    Raises:
        ModelMissing: DuckDB is not installed.
        BadSettings: it is not an archive, or of a version that this program does not know.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._duckdb = _engine()
        self.errors: type[Exception] = self._duckdb.Error
        self._writer: duckdb.DuckDBPyConnection = self._duckdb.connect()
        if self.catalog().schema != SCHEMA:
            self._lift()

    def catalog(self) -> Catalog:
        """As it stands on disk now."""
        path = self.folder / CATALOG
        try:
            document = json.loads(path.read_text(encoding="utf-8"))
            version = document["schema"]
            if version != SCHEMA and version not in ADDED:
                raise BadSettings(
                    f"{path}: schema {version!r}; this program knows {SCHEMA}",
                    remedy="use a newer program, or make a new archive from the session folders",
                )
            files = {str(table): list(names) for table, names in document["files"].items()}
            return Catalog(batch=int(document["batch"]), files=files, schema=version)
        except FileNotFoundError:
            if self.folder.is_dir() and {path.name for path in self.folder.iterdir()} - _OWN:
                raise BadSettings(
                    f"{self.folder} is not empty and no archive", remedy="name a new folder with --archive"
                ) from None
            return Catalog()
        except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
            raise BadSettings(
                f"{path} cannot be read: {error}", remedy="make a new archive from the session folders"
            ) from None

    def _lift(self) -> None:
        """Rewrite the files of an older schema with the columns added since; then let the catalog name them.

        Raises:
            RecordNotWritable: the folder refuses; the archive is unchanged.
        """
        with self._writing("the archive is of an older program and could not be brought up to date"):
            catalog = self.catalog()
            files = {table: list(names) for table, names in catalog.files.items()}
            new: dict[str, dict[str, str]] = defaultdict(dict)
            for version in range(catalog.schema, SCHEMA):
                for table, columns in ADDED[version].items():
                    new[table] |= columns
            old = []
            for table, names in files.items():
                for at, name in enumerate(names if new.get(table) else ()):
                    chosen = ", ".join(
                        f"{new[table][column]}::{kind} AS {column}" if column in new[table] else column
                        for column, kind in (*TABLES[table].items(), _STAMP)
                    )
                    query = f"SELECT {chosen} FROM read_parquet('{_quoted(self.folder / name)}', {_PLAIN})"
                    names[at] = self._copy(query, table, _place_in(name))
                    old.append(name)
            self._settle(Catalog(batch=catalog.batch, files=files))
            self._remove(old)

    # ------------------------------------------------------------------------------------------------------- adding
    def contents(self) -> dict[str, Held]:
        """As `Store.contents`."""
        with self.connection() as found:
            return held_by(found.execute(f"SELECT {HELD} FROM every_session", []).fetchall())

    def add(self, sessions: Sequence[Gathered], *, sound: bool = False) -> Added:
        """Take in sessions as one batch.

        Args:
            sessions: each from a folder that was verified.
            sound: copy recordings, by their hash.

        Raises:
            RecordNotWritable: the folder refuses, or the disk is full; the archive is unchanged.
        """
        with self._writing("nothing of this batch was taken in"):
            return self._add(sessions, sound=sound)

    def add_relistened(self, rows: Sequence[dict[str, Any]]) -> int:
        """As `Store.add_relistened`."""
        with self._writing("nothing of this batch was taken in"):
            catalog = self.catalog()
            with self.connection() as found:
                places = found.execute("SELECT session, site, month FROM every_session", []).fetchall()
                heard = found.execute("SELECT DISTINCT session, last, models FROM raw_relistened", []).fetchall()
            place_of, done = {session: (site, month) for session, site, month in places}, set(heard)
            by_place: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
            for row in rows:
                place = place_of.get(row["session"])
                if place is not None and (row["session"], row["last"], row["models"]) not in done:
                    by_place[place].append(row)
            if not by_place:
                return 0
            batch = catalog.batch + 1
            files = {table: list(names) for table, names in catalog.files.items()}
            for place, taken in by_place.items():
                files.setdefault("relistened", []).append(self._write("relistened", place, taken, batch))
            self._settle(Catalog(batch=batch, files=files))
            self._join_small()
            return sum(map(len, by_place.values()))

    def recording(self, digest: str) -> Path | None:
        """As `Store.recording`."""
        path = self._sound(digest)
        return path if path.is_file() else None

    def _sound(self, digest: str) -> Path:
        return self.folder / "sound" / digest[:2] / f"{digest}.flac"

    @contextlib.contextmanager
    def _writing(self, otherwise: str) -> Iterator[None]:
        """Hold the lock for writing; errors of the disk become `RecordNotWritable`."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            with self._alone():
                yield
        except OSError as error:
            raise RecordNotWritable(
                f"{self.folder}: {error.strerror or error}; {otherwise}",
                remedy="make room or choose another folder with --archive, then do the same again",
            ) from None

    def _add(self, sessions: Sequence[Gathered], *, sound: bool) -> Added:
        catalog, known = self.catalog(), self.contents()
        self._clear_away(catalog)
        wanted = wanted_of(sessions, known)
        recordings = sum(self._keep_sound(each) for each in sessions) if sound else 0
        renewed = sum(name in known for name in wanted)
        counts = {"known": len({each.session for each in sessions}) - len(wanted), "renewed": renewed}
        if not wanted:
            return Added(**counts, recordings=recordings)
        batch = catalog.batch + 1
        files = {table: list(names) for table, names in catalog.files.items()}
        for place, group in by_place(list(wanted.values())).items():
            for table in OF_SESSION:
                rows = [row for each in group for row in each.rows.get(table, ())]
                if rows or table == "sessions":
                    files.setdefault(table, []).append(self._write(table, place, rows, batch))
        self._settle(Catalog(batch=batch, files=files))
        self._join_small()
        return Added(new=len(wanted) - renewed, **counts, recordings=recordings)

    def _write(self, table: str, place: tuple[str, str], rows: list[dict[str, Any]], batch: int) -> str:
        """One Parquet file, synced; its path below the folder."""
        with tempfile.NamedTemporaryFile("w", encoding="utf-8", suffix=".json") as lines:
            for row in rows:
                lines.write(json.dumps(row | {"batch": batch}) + "\n")
            lines.flush()
            columns = ", ".join(f"'{name}': '{kind}'" for name, kind in (*TABLES[table].items(), _STAMP))
            query = f"SELECT * FROM read_json('{lines.name}', format='newline_delimited', columns={{{columns}}})"
            return self._copy(query, table, place)

    def _copy(self, query: str, table: str, place: tuple[str, str]) -> str:
        site, month = place
        name = f"data/{table}/site={site}/month={month}/{secrets.token_hex(8)}.parquet"
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            self._writer.execute(f"COPY ({query}) TO '{_quoted(path)}' (FORMAT parquet, COMPRESSION zstd)")
        except self._duckdb.Error as error:
            raise OSError(0, str(error).splitlines()[0]) from error
        _sync(path)
        _sync(path.parent)
        return name

    def _settle(self, catalog: Catalog) -> None:
        """Replace the catalog in one step."""
        path = self.folder / CATALOG
        fresh = path.with_name(f"{CATALOG}.part")
        document = {"schema": SCHEMA, "batch": catalog.batch, "files": catalog.files}
        fresh.write_text(json.dumps(document, indent=1), encoding="utf-8")
        _sync(fresh)
        fresh.replace(path)
        _sync(self.folder)

    def _join_small(self) -> None:
        """Join the files of a table, site and month where there are many, without rows that were replaced."""
        catalog = self.catalog()
        files = {table: list(names) for table, names in catalog.files.items()}
        old: list[str] = []
        with self.connection() as found:
            latest = found.execute("SELECT session, batch FROM every_session", []).fetchall()
        wanted = [
            (table, folder, group)
            for table, names in files.items()
            for folder, group in _by_folder(names).items()
            if len(group) > MOST_FILES
        ]
        if not wanted:
            return
        with tempfile.NamedTemporaryFile("w", encoding="utf-8", suffix=".csv") as kept:
            kept.writelines(f"{session},{batch}\n" for session, batch in latest)
            kept.flush()
            current = f"read_csv('{kept.name}', header=false, columns={{'session': 'VARCHAR', 'batch': 'INTEGER'}})"
            for table, folder, group in wanted:
                paths = ", ".join(f"'{_quoted(self.folder / name)}'" for name in group)
                source = f"read_parquet([{paths}], {_PLAIN})"
                query = f"SELECT t.* FROM {source} t"
                if table in OF_SESSION:
                    query += f" SEMI JOIN {current} c USING (session, batch)"
                files[table] = [name for name in files[table] if name not in set(group)]
                files[table].append(self._copy(query, table, _place_in(f"{folder}/")))
                old += group
        self._settle(Catalog(batch=catalog.batch, files=files))
        self._remove(old)

    def _remove(self, names: Sequence[str]) -> None:
        """Remove files that the catalog no longer names."""
        for name in names:
            with contextlib.suppress(OSError):
                (self.folder / name).unlink()

    def _clear_away(self, catalog: Catalog) -> None:
        """Remove files that a stop left behind: no catalog names them."""
        named = {name for names in catalog.files.values() for name in names}
        for path in (self.folder / "data").rglob("*.parquet"):
            if path.relative_to(self.folder).as_posix() not in named:
                path.unlink(missing_ok=True)

    def _keep_sound(self, session: Gathered) -> int:
        kept = 0
        for digest, name in session.sound.items():
            if not re.fullmatch("[0-9a-f]{64}", digest):
                continue
            target = self._sound(digest)
            source = Path(session.path) / "audio" / name
            if target.exists() or not source.is_file():
                continue
            data = source.read_bytes()
            if hashlib.sha256(data).hexdigest() != digest:
                continue  # `assistant verify` says so; what was not recorded is not kept
            target.parent.mkdir(parents=True, exist_ok=True)
            fresh = target.with_suffix(f".{secrets.token_hex(4)}.part")
            fresh.write_bytes(data)
            _sync(fresh)
            fresh.replace(target)
            kept += 1
        return kept

    @contextlib.contextmanager
    def _alone(self) -> Iterator[None]:
        """Hold the lock for adding; a second importer waits."""
        with (self.folder / "lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            yield

    # ------------------------------------------------------------------------------------------------------ reading
    @contextlib.contextmanager
    def connection(self, *, shut: bool = False) -> Iterator[Connection]:
        """A database in memory with a view of each table: work alone under its name, rehearsals under `played_NAME`.

        Args:
            shut: for queries from people: only the archive's own files can be read, and nothing can be written.
        """
        catalog = self.catalog()
        engine = self._duckdb.connect()
        try:
            engine.execute("SET TimeZone = 'UTC'")
            for table in TABLES:
                names = catalog.files.get(table, [])
                if names:
                    paths = ", ".join(f"'{_quoted(self.folder / name)}'" for name in names)
                    kinds = "hive_types={'site': VARCHAR, 'month': VARCHAR}"
                    source = f"read_parquet([{paths}], hive_partitioning=true, {kinds})"
                    engine.execute(f"CREATE VIEW raw_{table} AS SELECT * FROM {source}")
                else:
                    engine.execute(_empty(f"raw_{table}", table))
            ((rows, kept, played),) = engine.execute(
                "SELECT count(*), count(DISTINCT session), count(*) FILTER (WHERE how <> '') FROM raw_sessions"
            ).fetchall()
            # A question reads few of the many columns: a view leaves the others on disk.
            query = "SELECT s.* FROM raw_sessions s"
            if rows != kept:
                engine.execute(
                    "CREATE TABLE latest AS SELECT session, max(batch) AS batch FROM raw_sessions GROUP BY session"
                )
                query += " SEMI JOIN latest l ON s.session = l.session AND s.batch = l.batch"
            engine.execute(f"CREATE VIEW every_session AS {query}")
            # Where nothing was replaced and nothing is a rehearsal, every row counts; else each is looked for.
            everything = rows == kept and not played
            for prefix, which in (("", "how = ''"), ("played_", "how <> ''")):
                if prefix and not played:  # a view over many files takes its time
                    for table in TABLES:
                        engine.execute(_empty(f"{prefix}{table}", table))
                    continue
                engine.execute(f"CREATE VIEW {prefix}sessions AS SELECT * FROM every_session WHERE {which}")
                for table in TABLES:
                    if table == "sessions":
                        continue
                    same = "batch" if table in OF_SESSION else "last"
                    query = f"SELECT t.* FROM raw_{table} t"
                    if prefix or not everything or table not in OF_SESSION:
                        query += f" SEMI JOIN {prefix}sessions s ON t.session = s.session AND t.{same} = s.{same}"
                    engine.execute(f"CREATE VIEW {prefix}{table} AS {query}")
            if shut:
                allowed = _quoted((self.folder / "data").resolve())
                engine.execute(f"SET allowed_directories = ['{allowed}/', '{_quoted(self.folder / 'data')}/']")
                engine.execute("SET enable_external_access = false")
                engine.execute("SET lock_configuration = true")
            yield engine
        finally:
            engine.close()


def _empty(name: str, table: str) -> str:
    """The statement that makes a table of the same columns without rows."""
    shape = (*TABLES[table].items(), _STAMP, ("site", "VARCHAR"), ("month", "VARCHAR"))
    return f"CREATE TABLE {name} ({', '.join(f'{column} {kind}' for column, kind in shape)})"


def _engine() -> Any:
    try:
        import duckdb
    except ImportError:
        raise ModelMissing(
            "the archive needs DuckDB, which is not installed",
            remedy="install the extra: .venv/bin/python -m pip install 'duckdb>=1.1'",
        ) from None
    return duckdb


HELD = "session, content, lines, path, last"
"""Columns of `sessions` for `held_by`."""


def held_by(rows: Sequence[tuple[Any, ...]]) -> dict[str, Held]:
    """The sessions that the archive holds, by the hash that names them."""
    return {
        session: Held(content=content, lines=lines, path=path, last=last)
        for session, content, lines, path, last in rows
    }


def held(session: Gathered) -> Held:
    """The session as the archive will hold it."""
    last = session.rows["sessions"][0]["last"]
    return Held(content=session.content, lines=session.lines, path=session.path, last=last)


def wanted_of(sessions: Sequence[Gathered], known: dict[str, Held]) -> dict[str, Gathered]:
    """Sessions to take in, each once: new ones, and those that continue what is there."""
    wanted: dict[str, Gathered] = {}
    for each in sessions:
        beside = wanted.get(each.session)
        there = held(beside) if beside is not None else known.get(each.session)
        if there is None or (
            each.content != there.content and each.lines >= there.lines and there.last in {"", *each.course}
        ):
            wanted[each.session] = each
    return wanted


def by_place(sessions: Sequence[Gathered]) -> dict[tuple[str, str], list[Gathered]]:
    """Sessions by site and month, as they are stored together."""
    found: dict[tuple[str, str], list[Gathered]] = defaultdict(list)
    for each in sessions:
        found[(slug(each.site), each.month)].append(each)
    return found


def _place_in(name: str) -> tuple[str, str]:
    """Site and month of a file below `data/`."""
    site, month = (part.split("=", 1)[1] for part in name.split("/")[-3:-1])
    return site, month


def _by_folder(names: Sequence[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    for name in names:
        found[name.rpartition("/")[0]].append(name)
    return found


def slug(text: str) -> str:
    """A site as part of a path."""
    return re.sub("[^a-z0-9]+", "-", text.lower()).strip("-")[:60] or "unknown"


def _quoted(path: Path) -> str:
    return str(path).replace("'", "''")


def _sync(path: Path) -> None:
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
