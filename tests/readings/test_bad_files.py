"""Files that cannot be read: one clear fault each, and the good ones are read."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest
from reading_files import HEADINGS, ROW, Read, Write

from trendwear.readings import tab_reading
from trendwear.readings.sheet import Incoming, read_paths


def only_fault(incoming: Incoming) -> str:
    faults = incoming.faults
    assert len(faults) == 1
    assert faults["row"][0] == 0
    assert faults["column"].isna().all()
    assert faults["instead"][0]
    assert not incoming.files
    return str(faults["reason"][0])


def test_a_path_that_is_not_there(tmp_path: Path, write: Write) -> None:
    write("readings.csv", f"{HEADINGS}\n{ROW}\n")
    incoming = read_paths([tmp_path / "none.csv", tmp_path, tmp_path / "readings.csv"])
    assert incoming.faults["file"].tolist() == ["none.csv"]
    assert "no such file" in incoming.faults["reason"][0]
    assert len(incoming.sheets["readings"]) == 1


def test_a_name_with_a_nul(tmp_path: Path) -> None:
    assert "cannot be read" in only_fault(read_paths([Path(str(tmp_path) + "/a\0b.csv")]))


@pytest.mark.parametrize("name", ["readings.pdf", "readings.xls", "readings"])
def test_a_kind_of_file_that_is_not_read(write: Write, name: str) -> None:
    assert "are not read" in only_fault(read_paths([write(name, "x")]))


@pytest.mark.parametrize("text", ["", "\n \n"])
def test_an_empty_file(write: Write, text: str) -> None:
    assert "empty" in only_fault(read_paths([write("readings.csv", text)]))


def test_a_folder_without_sheets(tmp_path: Path) -> None:
    assert "no .csv" in only_fault(read_paths([tmp_path]))


def test_what_a_folder_holds_beside_sheets(tmp_path: Path, write: Write) -> None:
    for name in ("readings.csv", "readme.txt", ".~lock.readings.csv#"):
        write(name, f"{HEADINGS}\n{ROW}\n")
    write("other.csv", "pump,flow\nP-1,3\n")
    (tmp_path / "old.csv").mkdir()
    incoming = read_paths([tmp_path])
    assert len(incoming.sheets["readings"]) == 1
    assert incoming.faults.empty
    assert f"{tmp_path.name}: not read: old.csv, readme.txt" in incoming.notes
    assert "other.csv: not one of our sheets, not read: other" in incoming.notes


def test_a_folder_of_files_named_after_machines(tmp_path: Path, write: Write) -> None:
    write("pump1.csv", f"{HEADINGS}\n{ROW}\n")
    write("pump2.csv", f"{HEADINGS}\n{ROW.replace('K-101', 'K-102')}\n")
    incoming = read_paths([tmp_path])
    assert incoming.faults.empty
    assert incoming.sheets["readings"]["machine"].tolist() == ["K-101", "K-102"]
    assert [file.name for file in incoming.files] == ["pump1.csv", "pump2.csv"]
    assert incoming.notes == (
        "pump1.csv: pump1 is read as readings, by its headings",
        "pump2.csv: pump2 is read as readings, by its headings",
    )


@pytest.mark.parametrize(
    "content",
    [
        b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
        HEADINGS.encode("utf-16-le"),
        f"{HEADINGS}\n{ROW}\n".encode() * 30_000 + b"\0",
        b"\xff\xfe\x00\x00" + HEADINGS.encode("utf-32-le"),
        f"{HEADINGS}\n".encode() + b"K,\x81\x8d\x8f\n",
        b"\xff\xfe" + f"{HEADINGS}\n{ROW}".encode("utf-16-le") + b"\x00",
    ],
    ids=["picture", "utf-16 unmarked", "nul at the end", "utf-32", "no cp1252", "cut utf-16"],
)
def test_bytes_that_are_no_text(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "readings.csv"
    path.write_bytes(content)
    assert "no text" in only_fault(read_paths([path]))


def test_a_pipe_is_not_opened(tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    os.mkfifo(path)
    assert "no ordinary file" in only_fault(read_paths([path]))
    assert "no ordinary file" in only_fault(read_paths([tmp_path]))
    assert "no ordinary file" in only_fault(read_paths([Path("/dev/null")]))


def test_a_link_that_leads_nowhere(tmp_path: Path) -> None:
    (tmp_path / "readings.csv").symlink_to(tmp_path / "none.csv")
    assert "no such file" in only_fault(read_paths([tmp_path]))
    (tmp_path / "readings.csv").unlink()
    (tmp_path / "readings.csv").symlink_to(tmp_path / "readings.csv")
    assert "cannot be read" in only_fault(read_paths([tmp_path / "readings.csv"]))


@pytest.fixture
def as_anybody() -> Iterator[None]:
    """Be an ordinary user, where the tests are run by one who may do everything."""
    before = os.geteuid()
    if before == 0:
        os.seteuid(65534)
    yield
    os.seteuid(before)


@pytest.fixture
def locked(tmp_path: Path, write: Write) -> list[Path]:
    """A file and a folder that nobody may read."""
    for folder in (tmp_path, *tmp_path.parents[:3]):
        folder.chmod(folder.stat().st_mode | stat.S_IXOTH | stat.S_IROTH)
    path = write("readings.csv", f"{HEADINGS}\n{ROW}\n")
    path.chmod(0)
    folder = tmp_path / "locked"
    folder.mkdir(mode=0)
    return [path, folder]


@pytest.mark.unprivileged
def test_files_one_may_not_read(locked: list[Path], as_anybody: None) -> None:
    incoming = read_paths(locked)
    assert sorted(incoming.faults[["file", "reason"]].values.tolist()) == [
        ["locked", "it may not be read"],
        ["readings.csv", "it may not be read"],
    ]


def test_rubbish_under_good_headings_is_one_fault(
    read: Read, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tab_reading, "_HOPELESS", 50)
    rubbish = "\n".join(f"a{n},b,c{n},d,e,f,g" for n in range(100))
    incoming = read(f"{HEADINGS}\n{rubbish}\n")
    assert "hardly a row" in only_fault(incoming)
    assert "'c0'" in incoming.faults["reason"][0]
    good_first = read(f"{HEADINGS}\n{ROW}\n{rubbish}\n")
    assert len(good_first.sheets["readings"]) == 1
    assert good_first.faults["row"].nunique() == 100


def test_rows_are_read_in_portions(read: Read, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tab_reading, "_ROWS_AT_ONCE", 3)
    rows = "\n".join(ROW.replace("6.5", "x" if n == 5 else str(n)) for n in range(10))
    incoming = read(f"{HEADINGS}\n{rows}\n")
    assert incoming.sheets["readings"]["row"].tolist() == [2, 3, 4, 5, 6, 8, 9, 10, 11]
    assert incoming.faults["row"].tolist() == [7]


def test_one_endless_line(read: Read) -> None:
    assert "longer than a million" in only_fault(read(HEADINGS + "\n" + "x" * 1_100_000))


def test_a_quotation_mark_that_never_ends(read: Read) -> None:
    rows = f"{ROW}\n" * 20_000
    incoming = read(f'{HEADINGS},note\n{ROW},"open\n{rows}')
    assert "near line 2" in only_fault(incoming)


def test_a_damaged_parquet_file(write: Write) -> None:
    assert "no Parquet" in only_fault(read_paths([write("readings.parquet", "PAR1")]))


def test_a_file_given_twice_is_read_once(tmp_path: Path, write: Write) -> None:
    path = write("readings.csv", f"{HEADINGS}\n{ROW}\n")
    incoming = read_paths([path, tmp_path, path])
    assert len(incoming.sheets["readings"]) == 1
    assert [file.sha256 for file in incoming.files] == [
        hashlib.sha256(path.read_bytes()).hexdigest()
    ]
