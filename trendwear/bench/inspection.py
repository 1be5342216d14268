"""The inspection sheet of one machine and one opening: what is measured, and what is known."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Any, Final

import pandas as pd

from trendwear.bench.boxes import Place, conditions_of, in_segments, places_of, sizes_of
from trendwear.bench.expected import Expected, PlannedWork, expected_of, nothing_planned
from trendwear.bench.teardown import in_teardown_order
from trendwear.errors import UnknownName
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.spares import parts_fitted
from trendwear.wording import fold

__all__ = ["Bound", "Inspection", "LastReading", "Part", "Position", "inspection"]

_MANY: Final = 12


@dataclass(frozen=True)
class Part:
    """The part of a position.  Any name may be missing.

    Attributes
    ----------
    name : str or None
        As the shop calls it.
    number : str or None
        Of the part last fitted, else the register's.
    supplier, supplier_name, supplier_number : str or None
        What the supplier calls it, as the ``parts`` sheet says.
    quantity : int
        How many sit in the position; 1 where the register does not say.
    segmented : bool
        Whether it comes apart into segments that must not change places.
    """

    name: str | None
    number: str | None
    supplier: str | None
    supplier_name: str | None
    supplier_number: str | None
    quantity: int
    segmented: bool


@dataclass(frozen=True)
class Bound:
    """One limit of a position; one way of moving may have none."""

    moves: str
    limit_mm: float
    source: str | None
    meaning: str | None


@dataclass(frozen=True)
class LastReading:
    """What was read when the machine was last closed.

    Attributes
    ----------
    value_mm : float
        NaN where nothing was read after the last work.
    state : str
        *as-left*, else how it was read; or the work after which nothing was read.
    date : Timestamp or NaT
    """

    value_mm: float
    state: str
    date: pd.Timestamp


@dataclass(frozen=True)
class Position:
    """One position, as it stands on the sheet.

    Attributes
    ----------
    number : int
        From 1, in the order of teardown.
    name, kind, basis, unit, access : str
    location, slot, partner, method : str or None
    part : Part
    design_mm : tuple of float
        Smallest and largest; NaN where not given.
    bounds : tuple of Bound
    decimals : int
        That the gauge carries in ``unit``.
    last : LastReading or None
    places : tuple of Place
        Where it is measured.
    sizes : tuple of str
        What is measured at each to find the clearance; empty: the clearance itself.
    conditions : tuple of str
        What to look for.
    """

    number: int
    name: str
    kind: str
    basis: str
    unit: str
    access: str
    location: str | None
    slot: str | None
    partner: str | None
    method: str | None
    part: Part
    design_mm: tuple[float, float]
    bounds: tuple[Bound, ...]
    decimals: int
    last: LastReading | None
    places: tuple[Place, ...]
    sizes: tuple[str, ...]
    conditions: tuple[str, ...]


@dataclass(frozen=True)
class Inspection:
    """The sheet of one machine.

    Attributes
    ----------
    machine : str
    description, site : str or None
    as_of : date
    run_hours : float
        On ``as_of``; NaN unknown.
    positions : tuple of Position
        In the order of teardown.
    expected : dict of str to Expected
        By position, for the lead; empty on a sheet without the record.
    outage : str or None
        The opening that *renew* and *leave* are recommended for.
    """

    machine: str
    description: str | None
    site: str | None
    as_of: dt.date
    run_hours: float
    positions: tuple[Position, ...]
    expected: dict[str, Expected]
    outage: str | None

    def without_record(self) -> Inspection:
        """Return the same sheet from the register alone: nothing read, nothing expected."""
        bare = tuple(replace(one, last=None) for one in self.positions)
        return replace(self, positions=bare, expected={}, outage=None, run_hours=float("nan"))


def inspection(told: SiteForecast, machine: str, planned: PlannedWork | None = None) -> Inspection:
    """Return the inspection sheet of a machine, however its name is spelt.

    Parameters
    ----------
    told : SiteForecast
    machine : str
    planned : PlannedWork, optional
        What a plan recommends for it.

    Raises
    ------
    UnknownName
        The register does not have the machine, or gives it no positions.
    """
    register = told.basis.register
    rows = register[register["machine"].map(fold) == fold(machine)]
    if rows.empty:
        raise _not_there(told, machine)
    planned = planned or nothing_planned()
    rows = in_teardown_order(rows)
    name = str(rows["machine"].iloc[0])
    facts = told.site.machines
    mine = facts[facts["machine"] == name].to_dict("records")
    return Inspection(
        machine=name,
        description=_text(mine[0]["description"]) if mine else None,
        site=_text(mine[0]["site"]) if mine else None,
        as_of=told.as_of,
        run_hours=float(told.basis.clocks[name].hours),
        positions=_positions(told, rows),
        expected=expected_of(told, rows, planned),
        outage=planned.outage if len(planned.renewals) else None,
    )


def _not_there(told: SiteForecast, machine: str) -> UnknownName:
    """Say that a machine is unknown or has no positions, and which names are near."""
    described = {fold(name): str(name) for name in told.site.machines["machine"]}
    if fold(machine) in described:
        return UnknownName(
            f"machine {described[fold(machine)]}",
            "the register gives it no positions, so there is nothing to measure",
            "Load a clearances sheet with a row for each of its positions.",
        )
    known = {fold(name): str(name) for name in told.site.register["machine"].unique()}
    if not known:
        return UnknownName(
            f"machine {machine}", "the register is empty", "Load a clearances sheet first."
        )
    near = [known[one] for one in get_close_matches(fold(machine), known, n=5, cutoff=0.5)]
    names = list(known.values())
    more = f" and {len(names) - _MANY} more" if len(names) > _MANY else ""
    offered = f"Near to it: {', '.join(near)}" if near else f"It has: {', '.join(names[:_MANY])}"
    return UnknownName(
        f"machine {machine}",
        "the register does not have it",
        offered + ("" if near else more),
    )


def _positions(told: SiteForecast, rows: pd.DataFrame) -> tuple[Position, ...]:
    parts = _parts(told, rows)
    last = _last_readings(told)
    readings = _readings_until(told, str(rows["machine"].iloc[0]))
    methods = _last_methods(told)
    key = pd.MultiIndex.from_frame(told.cut.positions[["machine", "clearance"]])
    found: list[Position] = []
    for name, mine in rows.groupby("clearance", sort=False):
        row = mine.iloc[0].to_dict()
        at = int(key.get_loc((row["machine"], name)))
        method = methods.get(at) or _text(row["method"])
        found.append(
            Position(
                number=len(found) + 1,
                name=str(name),
                part=parts[mine.index[0]],
                design_mm=(float(row["design_min_mm"]), float(row["design_max_mm"])),
                bounds=tuple(_bound(one) for one in mine.to_dict("records")),
                decimals=int(told.decimals[mine.index[0]]),
                last=last.get(at),
                places=places_of(row, readings[readings["clearance"] == name]),
                sizes=sizes_of(row, method),
                conditions=conditions_of(str(row["kind"])),
                method=method,
                location=_text(row["location"]),
                slot=_text(row["slot"]),
                partner=_text(row["partner"]),
                **{word: str(row[word]) for word in ("kind", "basis", "unit", "access")},
            )
        )
    return tuple(found)


def _bound(row: dict[Any, Any]) -> Bound:
    return Bound(
        str(row["moves"]),
        float(row["limit_mm"]),
        _text(row["limit_source"]),
        _text(row["limit_meaning"]),
    )


def _parts(told: SiteForecast, rows: pd.DataFrame) -> dict[Any, Part]:
    """By index of ``rows``: the part last fitted, under the supplier's name where it is known."""
    numbers = parts_fitted(rows, told.cut.work)["part_no"]
    book = told.site.planning.parts
    listed = book.set_index(book["part_no"].map(fold))
    listed = listed[~listed.index.duplicated()]
    found = {}
    for index, row in rows.to_dict("index").items():
        number = _text(numbers[index])
        known = number is not None and fold(number) in listed.index
        entry = listed.loc[fold(str(number))].to_dict() if known else {}
        quantity = row["quantity"]
        found[index] = Part(
            name=_text(row["part"]) or _text(entry.get("part")),
            number=number,
            supplier=_text(entry.get("supplier")),
            supplier_name=_text(entry.get("supplier_part_name")),
            supplier_number=_text(entry.get("supplier_part_no")),
            quantity=int(quantity) if quantity >= 1 else 1,
            segmented=in_segments(str(row["kind"])),
        )
    return found


def _last_readings(told: SiteForecast) -> dict[int, LastReading]:
    """The reading with which each position was left, by position; checks leave nothing."""
    points = told.cut.points
    points = points[(points["state"] != "check") & ~points["excluded"]]
    points = points.assign(left=points["state"] == "as-left")
    points = points.sort_values(["position", "order", "left"], kind="stable", na_position="first")
    last = points.drop_duplicates("position", keep="last").set_index("position")
    work = told.cut.work.sort_values("order", kind="stable")
    work = work.drop_duplicates("position", keep="last").set_index("position")
    found = {}
    for at, row in last.to_dict("index").items():
        found[int(at)] = LastReading(float(row["value_mm"]), str(row["state"]), row["date"])
    for at, row in work.to_dict("index").items():
        before = last.loc[at] if at in last.index else None
        if before is None or _unread_since(before, row):
            found[int(at)] = LastReading(float("nan"), str(row["action"]), row["date"])
    return found


def _unread_since(reading: pd.Series, work: dict[Any, Any]) -> bool:
    """Whether the reading was taken before the work: earlier, or as-found in its opening."""
    same = reading["opening_no"] == work["opening_no"]
    if same:
        return bool(reading["state"] != "as-left")
    return bool(reading["order"] < work["order"])


def _last_methods(told: SiteForecast) -> dict[int, str]:
    points = told.cut.points.dropna(subset="method")
    points = points[points["state"] != "check"].sort_values(["position", "order"], kind="stable")
    return dict(points.groupby("position")["method"].last())


def _readings_until(told: SiteForecast, machine: str) -> pd.DataFrame:
    readings = told.site.record.readings
    late = readings["date"] > pd.Timestamp(told.as_of)
    return readings[(readings["machine"] == machine) & ~late & ~readings["excluded"]]


def _text(cell: object) -> str | None:
    return cell if isinstance(cell, str) and cell else None
