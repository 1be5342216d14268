"""Opening the store: who may, who must wait, and what is said to the others."""

from __future__ import annotations

import sqlite3
import stat
import subprocess
import sys
import textwrap
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing
from pathlib import Path

import duckdb
import pytest

from trendwear import errors
from trendwear.store import migrations
from trendwear.store.database import reader, rehearsal, writer
from trendwear.store.migrations import Step

NOBODY = 65534
Opener = Callable[..., AbstractContextManager[duckdb.DuckDBPyConnection]]


def add_load(connection: duckdb.DuckDBPyConnection, number: int) -> None:
    connection.execute(
        "insert into load values ($n, current_timestamp::timestamp, 'x')", {"n": number}
    )


def loads(store: Path) -> list[int]:
    with reader(store) as connection:
        return [n for (n,) in connection.execute("select load from load order by load").fetchall()]


def in_child(code: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run Python in another process; what it prints is told."""
    return subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), *arguments],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


@pytest.fixture
def holder(store: Path) -> Iterator[subprocess.Popen[str]]:
    """Another process that has the store open for writing."""
    with writer(store):
        pass
    code = (
        "import sys; from trendwear.store.database import writer\n"
        "with writer(sys.argv[1]):\n"
        "    print('open', flush=True); sys.stdin.read()\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code, str(store)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "open\n"
    yield process
    process.communicate(timeout=30)


def test_a_writer_makes_the_store_and_a_reader_reads_it(store: Path) -> None:
    with writer(store) as connection:
        add_load(connection, 1)
    assert loads(store) == [1]


def test_nothing_is_stored_when_the_work_fails(store: Path) -> None:
    with pytest.raises(ZeroDivisionError), writer(store) as connection:
        add_load(connection, 1)
        raise ZeroDivisionError
    assert loads(store) == []


def test_a_failed_statement_ends_the_work(store: Path) -> None:
    with pytest.raises(duckdb.CatalogException), writer(store) as connection:
        add_load(connection, 1)
        connection.execute("select * from no_such_table")
    assert loads(store) == []


def test_a_rehearsal_stores_nothing(store: Path) -> None:
    with writer(store) as connection:
        add_load(connection, 1)
    with rehearsal(store) as connection:
        add_load(connection, 2)
    assert loads(store) == [1]


def test_a_rehearsal_makes_no_store(store: Path) -> None:
    with rehearsal(store) as connection:
        add_load(connection, 1)
    assert not store.exists()


def test_a_reader_may_not_write(store: Path) -> None:
    with writer(store):
        pass
    with reader(store) as connection, pytest.raises(duckdb.InvalidInputException):
        add_load(connection, 1)


def test_no_store_to_read(store: Path) -> None:
    with pytest.raises(errors.StoreMissing, match="no store here yet"), reader(store):
        pass
    assert list(store.parent.iterdir()) == []


def test_no_folder_to_write_in(tmp_path: Path) -> None:
    place = tmp_path / "none" / "plant.duckdb"
    with pytest.raises(errors.StoreNotWritable, match="there is no folder"), writer(place):
        pass
    assert not place.parent.exists()


@pytest.mark.parametrize("opened", [reader, writer, rehearsal])
@pytest.mark.parametrize("content", [b"", b"hello", bytes(range(256)) * 64])
def test_a_strange_file_is_left_as_it_is(store: Path, content: bytes, opened: Opener) -> None:
    store.write_bytes(content)
    with pytest.raises(errors.NotAStore), opened(store):
        pass
    assert store.read_bytes() == content


@pytest.mark.parametrize("opened", [reader, writer])
def test_a_strange_database_is_left_as_it_is(store: Path, opened: Opener) -> None:
    with duckdb.connect(str(store)) as connection:
        connection.execute("create table birds (name varchar)")
    before = store.read_bytes()
    with pytest.raises(errors.NotAStore, match="not those of a trendwear store"), opened(store):
        pass
    assert store.read_bytes() == before


@pytest.mark.parametrize("opened", [reader, writer, rehearsal])
@pytest.mark.parametrize("share", [0.001, 0.3, 0.99])
def test_a_store_cut_short_is_left_as_it_is(store: Path, opened: Opener, share: float) -> None:
    with writer(store) as connection:
        add_load(connection, 1)
    cut = store.read_bytes()[: int(store.stat().st_size * share)]
    store.write_bytes(cut)
    with pytest.raises(errors.NotAStore, match="damaged") as told, opened(store):
        pass
    assert "Restore a copy" in told.value.do
    assert store.read_bytes() == cut


def test_damage_met_while_reading_is_told(store: Path) -> None:
    with writer(store):
        pass
    said = "IO Error: Could not read enough bytes from file"
    with pytest.raises(errors.NotAStore, match="damaged"), reader(store):
        raise duckdb.IOException(said)


@pytest.mark.parametrize("opened", [reader, writer, rehearsal])
def test_a_database_of_another_engine_is_left_as_it_is(store: Path, opened: Opener) -> None:
    with closing(sqlite3.connect(store)) as other:
        other.execute("CREATE TABLE kept (number INTEGER)")
        other.commit()
    before = store.read_bytes()
    with pytest.raises(errors.NotAStore, match="not a trendwear store"), opened(store):
        pass
    assert store.read_bytes() == before


def test_a_folder_is_no_store(tmp_path: Path) -> None:
    with pytest.raises(errors.NotAStore), writer(tmp_path):
        pass


@pytest.mark.parametrize("opened", [reader, writer])
def test_busy_names_the_process(store: Path, holder: subprocess.Popen[str], opened: Opener) -> None:
    with (
        pytest.raises(errors.StoreBusy, match=f"process {holder.pid} is using"),
        opened(store, patience_s=0.2),
    ):
        pass


def test_a_killed_writer_leaves_the_store_as_it_was(store: Path) -> None:
    with writer(store) as connection:
        add_load(connection, 1)
    killed = in_child(
        """
        import os, signal, sys
        from trendwear.store.database import writer
        with writer(sys.argv[1]) as connection:
            connection.execute("insert into load values (2, current_timestamp::timestamp, 'x')")
            os.kill(os.getpid(), signal.SIGKILL)
        """,
        str(store),
    )
    assert killed.returncode == -9
    assert loads(store) == [1]


def test_readers_and_writers_of_one_process_take_turns(store: Path) -> None:
    with writer(store):
        pass
    failed: list[BaseException] = []

    def read_on() -> None:
        try:
            for _ in range(10):
                loads(store)
        except BaseException as error:
            failed.append(error)
            raise

    threads = [threading.Thread(target=read_on) for _ in range(3)]
    for thread in threads:
        thread.start()
    for number in range(1, 6):
        with writer(store) as connection:
            add_load(connection, number)
    for thread in threads:
        thread.join()
    assert not failed
    assert loads(store) == [1, 2, 3, 4, 5]


def test_the_engine_reads_and_fetches_nothing_else(store: Path, tmp_path: Path) -> None:
    secret = tmp_path / "secret.csv"
    secret.write_text("a\n1\n")
    with writer(store) as connection, pytest.raises(duckdb.PermissionException):
        connection.execute("select * from read_csv($file)", {"file": str(secret)})


class TestForm:
    """Migrations and versions."""

    def test_steps_are_numbered_without_a_gap(self, tmp_path: Path) -> None:
        (tmp_path / "0001_one.sql").write_text("select 1;")
        (tmp_path / "0003_three.sql").write_text("select 3;")
        with pytest.raises(KeyError, match="0002"):
            migrations.steps(tmp_path)

    def test_an_older_store_is_brought_up_to_date(
        self, store: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        with writer(store) as connection:
            add_load(connection, 1)
        known = migrations.steps()
        new = Step(len(known) + 1, "marks", "alter table load add column mark varchar;")
        steps = (*known, new)
        monkeypatch.setattr(migrations, "steps", lambda: steps)
        with reader(store) as connection:
            assert connection.execute("select load, mark from load").fetchall() == [(1, None)]
            done = connection.execute("select number, name from schema_step").fetchall()
        assert done == [(step.number, step.name) for step in steps]

    def test_a_step_that_fails_leaves_no_trace(
        self, store: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        with writer(store):
            pass
        before = migrations.steps()
        sql = "create table half (a integer); select * from no_such_table;"
        bad = Step(len(before) + 1, "bad", sql)
        with monkeypatch.context() as patch:
            patch.setattr(migrations, "steps", lambda: (*before, bad))
            with pytest.raises(duckdb.CatalogException), writer(store):
                pass
        with reader(store) as connection:
            tables = connection.execute("select table_name from duckdb_tables()").fetchall()
        assert ("half",) not in tables

    @pytest.mark.parametrize("opened", [reader, writer])
    def test_a_newer_store_is_not_touched(self, store: Path, opened: Opener) -> None:
        with writer(store) as connection:
            connection.execute(
                "insert into schema_step values (99, 'x', current_timestamp::timestamp)"
            )
        with pytest.raises(errors.StoreTooNew, match="step 99"), opened(store):
            pass

    def test_a_newer_engines_file(self, store: Path) -> None:
        with writer(store):
            pass
        content = bytearray(store.read_bytes())
        content[12:20] = (999).to_bytes(8, "little")  # the storage version in the main header
        store.write_bytes(content)
        with pytest.raises((errors.StoreTooNew, errors.NotAStore)), reader(store):
            pass

    def test_views_of_another_version_are_made_again(self, store: Path) -> None:
        with writer(store) as connection:
            connection.execute("update schema_views set mark = 'old'")
            connection.execute("create or replace view machine_now as select 1 as nothing")
        with reader(store) as connection:
            assert connection.execute("select machine from machine_now").fetchall() == []

    def test_the_file_is_of_a_form_older_engines_read(self, store: Path) -> None:
        with writer(store):
            pass
        with duckdb.connect(str(store), read_only=True) as connection:
            (tags,) = connection.execute(
                "select tags from duckdb_databases() where not internal"
            ).fetchone() or ({},)
        assert "v1.4" in str(tags) or "v1.2" in str(tags)


AS_NOBODY = f"""
import os, sys
import duckdb, filelock, pandas
from trendwear import errors
from trendwear.store import one_load
from trendwear.store.database import reader, writer
if os.getuid() == 0:
    os.setgid({NOBODY}); os.setuid({NOBODY})
"""


@pytest.fixture
def shut_folder(tmp_path: Path) -> Iterator[Path]:
    """A folder with a store in which an ordinary user may read but not write."""
    place = tmp_path / "shut"
    place.mkdir()
    store = place / "plant.duckdb"
    with writer(store) as connection:
        add_load(connection, 1)
    for gate in place.glob("*.gate"):
        gate.unlink()
    store.chmod(0o444)
    place.chmod(0o555)
    for parent in (tmp_path, *tmp_path.parents[:3]):
        parent.chmod(parent.stat().st_mode | stat.S_IXOTH | stat.S_IROTH)
    yield store
    place.chmod(0o755)


@pytest.mark.unprivileged
class TestOrdinaryUser:
    """Run in a child without root's rights."""

    def test_reads_where_nothing_may_be_written(self, shut_folder: Path) -> None:
        done = in_child(
            AS_NOBODY + "with reader(sys.argv[1]) as c: print(c.table('load').fetchall()[0][0])",
            str(shut_folder),
        )
        assert done.stdout == "1\n", done.stderr

    @pytest.mark.parametrize("name", ["plant.duckdb", "new.duckdb"])
    def test_is_told_where_he_may_not_write(self, shut_folder: Path, name: str) -> None:
        done = in_child(
            AS_NOBODY
            + textwrap.dedent(
                """
                try:
                    with writer(sys.argv[1]): pass
                except errors.StoreNotWritable as problem:
                    print(problem)
                """
            ),
            str(shut_folder.parent / name),
        )
        assert "may not be read or written by you" in done.stdout, done.stderr
        assert name in done.stdout


FILL = """
import resource, sys
from trendwear import errors
from trendwear.store.database import writer
if int(sys.argv[2]):
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]), int(sys.argv[2])))
try:
    with writer(sys.argv[1]) as connection:
        connection.execute("insert into load select 100 + range, current_timestamp::timestamp, "
                           "repeat(md5(range::varchar), 20) from range(40000)")
except errors.StoreFull as problem:
    print(problem)
"""


def small_disk(folder: Path) -> bool:
    """Put a disk of 8 MB at the folder; only root may, and not everywhere."""
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=8m", "tmpfs", str(folder)]
    return subprocess.run(mount, capture_output=True, check=False).returncode == 0


def test_no_room_left(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    is_small = small_disk(disk)
    try:
        store = disk / "plant.duckdb"
        with writer(store) as connection:
            add_load(connection, 1)
        most = 0 if is_small else store.stat().st_size + 1_000_000
        for limit in {most, store.stat().st_size + 1_000_000}:
            done = in_child(FILL, str(store), str(limit))
            assert "no room left on the disk" in done.stdout, done.stderr
            assert loads(store) == [1]
    finally:
        if is_small:
            subprocess.run(["umount", str(disk)], check=True)
