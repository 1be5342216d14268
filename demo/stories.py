"""What real sheets look like: fractions, feelers, lost hours, old names, things put in words.

Each story changes rows of the readings sheet that are there; one that finds no row
to change is a mistake in this file and stops the demo.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from trendwear.lengths import from_mm

from .paper import halves, leaves
from .seasons import Row

Change = Callable[[Row], Row]


@dataclass(frozen=True)
class Story:
    """Rows of one machine and year, and how they were written instead."""

    machine: str
    year: int
    clearances: tuple[str, ...]
    """Blank: every clearance of the machine."""
    change: Change
    state: str = ""


def _value_mm(row: Row) -> float:
    return float(str(row["value_mm"]))


def _say(**cells: object) -> Change:
    """Put these words in these cells."""
    return lambda row: {**row, **cells}


def _in_halves(row: Row) -> Row:
    return {**row, "value": halves(_value_mm(row))}


def _between_leaves(row: Row) -> Row:
    return {**row, "value": leaves(_value_mm(row)), "unit": "in", "method": "feeler"}


def _by_rule(row: Row) -> Row:
    """A steel rule held in the gap, read to a sixteenth of an inch."""
    sixteenths = round(from_mm(_value_mm(row), "in") * 16)
    return {**row, "value": f'{sixteenths}/16"', "uncertainty": "± 16 mil", "method": "steel rule"}


def _in_inches(row: Row) -> Row:
    return {**row, "value": f'{from_mm(_value_mm(row), "in"):.4f}"'.removeprefix("0")}


def _as_range(row: Row) -> Row:
    mils = from_mm(_value_mm(row), "mil")
    return {**row, "value": f"{mils - 1:.0f}-{mils + 1:.0f} thou"}


def _with_comma(row: Row) -> Row:
    return {**row, "value": f"{str(row['value']).replace('.', ',')} mm"}


def _one_side(row: Row) -> Row:
    """A lone feeler reading of one side: half of the diametral clearance."""
    inches = from_mm(_value_mm(row), "in") / 2
    return {**row, "value": f"{inches:.4f}", "basis": "radial"}


def _plus_minus(row: Row) -> Row:
    return {**row, "value": f"{row['value']} ± 3"}


def _about(row: Row) -> Row:
    hours = round(float(str(row["run_hours"])), -3)
    return {**row, "run_hours": f"~{hours:.0f} ±1500", "starts": ""}


def _month_only(row: Row) -> Row:
    return {**row, "date": str(row["date"])[:7]}


def _old_name(row: Row) -> Row:
    return {**row, "clearance": OLD_NAMES[str(row["clearance"])]}


OLD_NAMES = {
    "Steam end bearing": "Stm end brg",
    "Exhaust end bearing": "Exh end brg",
    "Rotor float": "End float",
}
"""What T-101's first sheets called its bearings."""

STORIES = (
    Story("T-101", 2014, (), _in_halves),
    Story("T-101", 2015, (), _in_halves),
    Story("T-101", 2014, tuple(OLD_NAMES), _old_name),
    Story("T-101", 2015, tuple(OLD_NAMES), _old_name),
    Story("T-102", 2014, ("Steam end bearing",), _between_leaves),
    Story("T-102", 2014, ("Nozzle to blade gap",), _by_rule),
    Story("T-102", 2021, (), _say(run_hours="", starts="")),
    Story(
        "T-102", 2026, ("Exhaust end carbon ring 2",),
        _say(note="past its limit; put back by concession, no ring on the shelf"),
    ),
    Story("T-103", 2014, ("Steam end bearing", "Exhaust end bearing"), _in_inches),
    Story("T-103", 2014, ("Rotor float",), _as_range),
    Story("T-103", 2016, ("Nozzle to blade gap",), _plus_minus),
    Story(
        "T-103", 2026, ("Steam end carbon ring 2",),
        _say(note="left in for one more season"),
    ),
    Story("T-201", 2017, ("Exhaust end carbon ring 1",), _one_side),
    Story("P-202", 2015, (), _with_comma),
    Story("P-202", 2015, (), _month_only),
    Story("P-301", 2014, (), _say(run_hours="", starts="")),
    Story("P-301", 2015, (), _say(run_hours="", starts="")),
    Story("F-401", 2016, (), _about),
    Story("F-401", 2018, ("Inlet cone gap",), _say(value="not taken", method="")),
    Story("C-501", 2016, ("Main bearing free end",), _say(run_hours="", starts="")),
    Story("C-501", 2021, ("Crosshead pin",), _say(value="<0.05"), state="as-left"),
)  # fmt: skip

EVENTS: tuple[Row, ...] = (
    {"machine": "T-102", "date": "2022-08-17", "what": "wet steam", "severity": "severe",
     "note": "boiler carry-over, turbine slowed for an hour"},
    {"machine": "T-103", "date": "2026-08-14", "what": "wet steam", "severity": "slight",
     "note": "boiler carry-over, about ten minutes"},
    {"machine": "P-201", "date": "2020-09-03", "what": "oil loss", "severity": "slight",
     "clearances": "Inboard bearing", "note": "oil ring hung up, bearing ran hot, no damage seen"},
    {"machine": "C-501", "date": "2023-06-21", "what": "trip",
     "note": "high discharge temperature"},
    {"machine": "T-102", "date": "2019-05-14", "what": "hour meter replaced"},
)  # fmt: skip

NAMES: tuple[Row, ...] = tuple(
    {"machine": "T-101", "as_written": old, "clearance": new} for new, old in OLD_NAMES.items()
)


def retold(rows: list[Row]) -> list[Row]:
    """Return the readings as the shop really wrote them."""
    for story in STORIES:
        told = [_fits(story, row) for row in rows]
        if not any(told):
            raise LookupError(f"no reading for the story of {story.machine} in {story.year}")
        rows = [story.change(row) if fits else row for row, fits in zip(rows, told, strict=True)]
    return rows


def _fits(story: Story, row: Row) -> bool:
    return (
        row["machine"] == story.machine
        and str(row["date"]).startswith(str(story.year))
        and (not story.clearances or row["clearance"] in story.clearances)
        and story.state in ("", row["state"])
    )
