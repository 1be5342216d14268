"""Laws of any sheet at all: a proposal never fails, and every number is that of its cell."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trendwear.readings.cell_marks import Marks, Range
from trendwear.readings.cell_names import cell_name
from trendwear.readings.header_row import Row
from trendwear.readings.headings import read_headings
from trendwear.readings.layouts.proposal import proposals
from trendwear.readings.layouts.reading import read_laid
from trendwear.readings.layouts.written import written_layout
from trendwear.readings.tabs import Layout, Tab

TEXTS = st.sampled_from(
    [
        "", "", "Machine", "Machine: T-101", "T-101", "Unit", "mil", "all in mils", "Date", "Hours",
        "2019-05-04", "2019", "03/04/2019", "Position", "As found", "As left (mm)",
        "Before", "After", "State", "Brg DE", "Ring 1", "Mean", "Remarks", "6.5", "7", "32000",
        "in 6, no-go 7 mil", "renewed", "V", "H", "Opened 2019-05-04 at 32000 h", "* cold", "=A1",
        '1/16"', "-3", "6?", '"', "a {b}", "x*y", "Which:", "'", "{machine}",
    ]
)  # fmt: skip
GRIDS = st.lists(st.lists(TEXTS, min_size=1, max_size=6), min_size=1, max_size=9)
MERGES = st.lists(
    st.tuples(st.integers(1, 8), st.integers(0, 5), st.integers(0, 2), st.integers(0, 2)),
    max_size=2,
)
TABLES = st.lists(
    st.tuples(
        st.sampled_from(["Ring 1", "Ring 2", "Brg DE", "Mean", "1", ""]),
        st.sampled_from(["6.5", "7 mil", "renewed", "6?", "0,16 mm", ""]),
        st.sampled_from(["5", "=A1", "n/a", ""]),
    ),
    max_size=5,
)
"""Positions with readings as found and as left, below whatever else there is."""
NAMES = st.sampled_from(["T-101 2019", "T-101", "Sheet1", "log", "2019", '"', "a {x} b", "*"])


def tab_of(name: str, cells: list[list[str]], merges: list[tuple[int, int, int, int]]) -> Tab:
    def rows() -> Iterator[Row]:
        yield from enumerate(cells, start=1)

    merged = tuple(Range(top, left, top + down, left + right) for top, left, down, right in merges)
    return Tab(name, (Layout(rows, marks=Marks(merged=merged)),))


@settings(
    max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(NAMES, st.tuples(GRIDS, TABLES), MERGES)
def test_law_a_proposal_is_a_layout_and_reads_what_stands_there(
    tmp_path: Path,
    name: str,
    sheet: tuple[list[list[str]], list[tuple[str, str, str]]],
    merges: list[tuple[int, int, int, int]],
) -> None:
    cells = [*sheet[0], ["", "As found", "As left"], *map(list, sheet[1])]
    tab = tab_of(name, cells, merges)
    found, unknown = proposals([tab])
    assert len(found) + len(unknown) == 1
    for proposal in found:
        path = tmp_path / "site.toml"
        path.write_text(written_layout(proposal.layout), encoding="utf-8")
        headings = read_headings(path)
        assert headings.layouts == (proposal.layout,)
        read = read_laid("any.xlsx", tab, headings.layouts, headings)
        texts = {
            cell_name(row, column): text
            for row, line in enumerate(cells, start=1)
            for column, text in enumerate(line)
        }
        for row in read.rows.to_dict("records"):
            assert texts[row["cell"]] in (row.get("value_written"), row.get("word"))
            assert row["machine"]
            assert row["clearance"]
            assert row["state"]
        assert set(read.faults["cell"].dropna()).isdisjoint(set(read.rows.get("cell", [])))
