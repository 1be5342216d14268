"""Load what no one should ever load: random bytes, mangled files, cut-off workbooks, bombs.

Every case is loaded into a store that holds one good reading.  It must end within 20 s and
in a report or in one of our own errors; where it ends in an error the store must be as it
was; memory may not run away.  What breaks this is written to a folder, to be looked at and
kept as a test in ``tests/readings/test_bad_files.py``.

Run it with ``python tests/bench/fuzz_load.py MINUTES [SEED] [FOLDER]``.
"""

from __future__ import annotations

import io
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
import warnings
import zipfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import duckdb
import pandas as pd
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import seed as hypothesis_seed
from hypothesis import strategies as st

import trendwear
from trendwear.errors import TrendwearError
from trendwear.readings.form import SHEETS
from trendwear.readings.headings import read_headings

SECONDS = 20
MEMORY = 3 << 30
ENDINGS = (".csv", ".xlsx", ".ods", ".parquet")
ODD = [
    "", " ", "NaN", "=1+1", "#REF!", "1e308", "-1e400", "~32000 ±3000", "0.3 mm", "<0.002", "3/0",
    "1/64 + 1/0", "０.３", "0,3", "1.000,5", "2020-13-45", "03/04/2025", "1899-12-31", "9999-12-31",
    "99999-01-01", "\x00", "\ufeff", "\u202e0.3", "𝟎.𝟑", "a\nb", '"', '""', ";", "\t", "'0.3",
    "as found", "renewed", "worn through", "not taken", "M" * 40_000, "9" * 5_000, "½", "-", "—",
]  # fmt: skip
GOOD = {
    "clearances": "machine,clearance,kind,basis,moves,unit,limit\nM,c,ring,diametral,opens,mm,1\n",
    "readings": "machine,clearance,date,run_hours,state,value\nM,c,2014-05-01,1000,as-left,0.3\n",
}

Case = tuple[str, bytes]
cells = st.one_of(
    st.sampled_from(ODD), st.text(max_size=20), st.floats().map(str), st.integers().map(str)
)


@st.composite
def sheets(draw: st.DrawFn) -> tuple[str, list[list[str]]]:
    """A sheet of the form with odd cells: its name and its rows."""
    name = draw(st.sampled_from(sorted(SHEETS)))
    columns = [column.name for column in SHEETS[name].all_columns]
    heads = draw(st.lists(st.sampled_from(columns), min_size=1, max_size=12))
    heads = draw(st.one_of(st.just(heads), st.just([*SHEETS[name].needs, *heads])))
    row = st.lists(cells, min_size=max(len(heads) - 1, 0), max_size=len(heads) + 1)
    return name, [heads, *draw(st.lists(row, max_size=8))]


def as_csv(rows: list[list[str]], separator: str, encoding: str) -> bytes:
    """Write rows without care for quotation marks, in an encoding."""
    return "\n".join(separator.join(row) for row in rows).encode(encoding, "replace")


def as_workbook(name: str, rows: list[list[str]]) -> bytes:
    """Write rows into a workbook, as text and as numbers where they are any."""
    out = io.BytesIO()
    table = pd.DataFrame([[cell[:32_000] for cell in row] for row in rows])
    kept = table.map(lambda cell: cell if isinstance(cell, str) and cell.isprintable() else None)
    kept.to_excel(out, sheet_name=name[:31], header=False, index=False, engine="xlsxwriter")
    return out.getvalue()


def mangled(content: bytes, draw: random.Random) -> bytes:
    """Change, cut, repeat or blank some bytes."""
    mutable = bytearray(content)
    for _ in range(draw.randint(1, 8)):
        if not mutable:
            break
        at = draw.randrange(len(mutable))
        match draw.randrange(5):
            case 0:
                mutable[at] = draw.randrange(256)
            case 1:
                del mutable[at:]
            case 2:
                mutable[at:at] = draw.randbytes(draw.randint(1, 40))
            case 3:
                del mutable[at : at + draw.randint(1, 40)]
            case _:
                mutable[at:at] = mutable[max(0, at - 200) : at]
    return bytes(mutable)


def rezipped(content: bytes, draw: random.Random) -> bytes:
    """Mangle one member of a workbook, and close the archive properly again."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w") as new:
        chosen = draw.choice(old.namelist())
        for name in old.namelist():
            inside = old.read(name)
            if name == chosen:
                inside = mangled(inside, draw) if draw.random() < 0.8 else b""
            new.writestr(name, inside)
    return out.getvalue()


def bomb(content: bytes, draw: random.Random) -> bytes:
    """Blow one member of a workbook up to some hundred megabytes of the same."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        chosen = draw.choice(old.namelist())
        for name in old.namelist():
            inside = old.read(name)
            if name == chosen:
                inside = inside[: len(inside) // 2] + draw.choice([b" ", b"<row/>", b"A"]) * (
                    60_000_000
                )
            new.writestr(name, inside)
    return out.getvalue()


def workbook_like(kind: int, name: str, rows: list[list[str]], draw: random.Random) -> Case:
    """A workbook, whole or spoilt in one of several ways."""
    content = as_workbook(name, rows)
    spoilt: list[Callable[[bytes, random.Random], bytes]] = [
        lambda good, _: good, mangled, rezipped, rezipped
    ]  # fmt: skip
    if draw.random() < 0.01:
        return f"{name}.xlsx", bomb(content, draw)
    return f"{name}.xlsx", spoilt[kind % len(spoilt)](content, draw)


def case_of(kind: int, sheet: tuple[str, list[list[str]]], draw: random.Random) -> Case:
    """Make one case of a sheet and a number that says what kind it is of."""
    name, rows = sheet
    if kind < 30:
        separator, encoding = (
            draw.choice([",", ";", "\t", "|"]),
            draw.choice(["utf-8", "utf-16", "cp1252", "utf-8-sig", "utf-32", "cp500", "utf-7"]),
        )
        content = as_csv(rows, separator, encoding)
        return f"{name}.csv", mangled(content, draw) if kind % 3 == 0 else content
    if kind < 65:
        return workbook_like(kind, name, rows, draw)
    if kind < 75:
        out = io.BytesIO()
        wide = max(map(len, rows))
        heads = [f"{head}" for head in (rows[0] + [f"x{n}" for n in range(wide)])[:wide]]
        table = pd.DataFrame([row + [""] * (wide - len(row)) for row in rows[1:]], columns=heads)
        table = table.loc[:, ~table.columns.duplicated()]
        safe = table.map(lambda cell: cell.encode("utf-8", "replace").decode())
        safe.to_parquet(out)
        return f"{name}.parquet", mangled(out.getvalue(), draw) if kind % 2 else out.getvalue()
    if kind < 85:
        return f"{name}{draw.choice(ENDINGS)}", draw.randbytes(draw.choice([0, 1, 100, 100_000]))
    if kind < 92:
        text = f'[dates]\norder = "day first"\n[readings]\nvalue = "{draw.choice(ODD)[:50]}"\n'
        return "headings.toml", mangled(text.encode("utf-8", "replace"), draw)
    deep = "/".join(["deep"] * draw.randint(1, 60))
    return f"{deep}/{name}.csv", as_csv(rows, ",", "utf-8")


class _Hang(BaseException):
    """The case took too long."""


def stop(_signal: int, _frame: object) -> None:
    """Break a case off that takes too long."""
    raise _Hang


def held(store: Path) -> list[int]:
    """Return how many rows each table of the store has."""
    with duckdb.connect(str(store), read_only=True) as connection:
        return [
            len(connection.table(name))
            for (name,) in connection.execute("select table_name from duckdb_tables()").fetchall()
        ]


def tried(case: Case, folder: Path, good: Path) -> str:
    """Load one case; return what came of it, or why it may not be so."""
    name, content = case
    store = folder / "store.duckdb"
    shutil.copy(good, store)
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    before = held(store)
    signal.alarm(SECONDS)
    try:
        if name.endswith(".toml"):
            read_headings(path)
            return "read"
        report = trendwear.load([path], store=store)
        [line, *_] = report.faults["reason"].tolist() or [""]
        outcome = "refused" if line else "loaded"
    except TrendwearError:
        outcome = "our own error"
        if held(store) != before:
            return "BROKEN: the store changed although the load failed"
    except _Hang:
        return f"BROKEN: not done in {SECONDS} s"
    except BaseException:
        return "BROKEN: " + traceback.format_exc()
    finally:
        signal.alarm(0)
    return outcome


def main(minutes: float, seed: int, kept: Path) -> int:
    """Try cases until the time is up; return how many broke something."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    signal.signal(signal.SIGALRM, stop)
    warnings.simplefilter("ignore")
    until = time.monotonic() + 60 * minutes
    outcomes: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as name:
        home = Path(name)
        for sheet, text in GOOD.items():
            (home / f"{sheet}.csv").write_text(text)
        good = home / "good.duckdb"
        assert trendwear.load(sorted(home.glob("*.csv")), store=good).clean

        @settings(
            max_examples=200, deadline=None, database=None, phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )  # fmt: skip
        @given(sheets(), st.integers(0, 99), st.integers(0, 2**63))
        def one(sheet: tuple[str, list[list[str]]], kind: int, draw: int) -> None:
            if time.monotonic() > until:
                return
            case = case_of(kind, sheet, random.Random(draw + seed))
            with tempfile.TemporaryDirectory(dir=home) as folder:
                outcome = tried(case, Path(folder), good)
            outcomes[outcome.partition(":")[0]] += 1
            if outcome.startswith("BROKEN"):
                kept.mkdir(parents=True, exist_ok=True)
                number = outcomes["BROKEN"]
                (kept / f"{number:03d}_{Path(case[0]).name}").write_bytes(case[1])
                (kept / f"{number:03d}.txt").write_text(outcome)
                print(f"{number}: {case[0]}: {outcome.strip().splitlines()[-1]}", flush=True)

        while time.monotonic() < until:
            hypothesis_seed(seed + sum(outcomes.values()))(one)()
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{sum(outcomes.values())} cases, {memory:.0f} MiB at most: {dict(outcomes)}")
    return outcomes["BROKEN"]


if __name__ == "__main__":
    time_given = float(sys.argv[1]) if len(sys.argv) > 1 else 1.0
    seed_given = int(sys.argv[2]) if len(sys.argv) > 2 else random.SystemRandom().getrandbits(32)
    folder_given = Path(sys.argv[3]) if len(sys.argv) > 3 else Path("fuzz_found")
    sys.exit(main(time_given, seed_given, folder_given) > 0)
