"""The inspection sheet of one machine and one opening: what is measured, and what is known."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Any, Final

import pandas as pd

from trendwear.bench.boxes import conditions_of, places_of, sizes_of
from trendwear.bench.expected import Expected, PlannedWork, expected_of, nothing_planned
from trendwear.bench.position import Bound, Position
from trendwear.bench.record import (
    last_methods,
    last_readings,
    parts_in,
    readings_until,
    text_of,
)
from trendwear.bench.teardown import in_teardown_order
from trendwear.errors import UnknownName
from trendwear.forecasting.site import SiteForecast, SiteRecord
from trendwear.wording import fold

__all__ = ["Inspection", "inspection", "machine_with_positions"]

_MANY: Final = 12


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
    name = machine_with_positions(told.site, machine)
    register = told.basis.register
    rows = in_teardown_order(register[register["machine"] == name])
    planned = planned or nothing_planned()
    facts = told.site.machines
    mine = facts[facts["machine"] == name].to_dict("records")
    return Inspection(
        machine=name,
        description=text_of(mine[0]["description"]) if mine else None,
        site=text_of(mine[0]["site"]) if mine else None,
        as_of=told.as_of,
        run_hours=float(told.basis.clocks[name].hours),
        positions=_positions(told, rows),
        expected=expected_of(told, rows, planned),
        outage=planned.outage if len(planned.renewals) else None,
    )


def machine_with_positions(site: SiteRecord, machine: str) -> str:
    """Return the machine's name as the register spells it.

    Raises
    ------
    UnknownName
        The register does not have it, or gives it no positions; names that are near are told.
    """
    known = {fold(name): str(name) for name in site.register["machine"].unique()}
    if fold(machine) in known:
        return known[fold(machine)]
    described = {fold(name): str(name) for name in site.machines["machine"]}
    if fold(machine) in described:
        raise UnknownName(
            f"machine {described[fold(machine)]}",
            "the register gives it no positions, so there is nothing to measure",
            "Load a clearances sheet with a row for each of its positions.",
        )
    if not known:
        raise UnknownName(
            f"machine {machine}", "the register is empty", "Load a clearances sheet first."
        )
    raise UnknownName(
        f"machine {machine}", "the register does not have it", _offered(fold(machine), known)
    )


def _offered(wanted: str, known: dict[str, str]) -> str:
    near = [known[one] for one in get_close_matches(wanted, known, n=5, cutoff=0.5)]
    if near:
        return f"Near to it: {', '.join(near)}"
    names = list(known.values())
    more = f" and {len(names) - _MANY} more" if len(names) > _MANY else ""
    return f"It has: {', '.join(names[:_MANY])}{more}"


def _positions(told: SiteForecast, rows: pd.DataFrame) -> tuple[Position, ...]:
    parts = parts_in(told, rows)
    last = last_readings(told)
    readings = readings_until(told, str(rows["machine"].iloc[0]))
    methods = last_methods(told)
    key = pd.MultiIndex.from_frame(told.cut.positions[["machine", "clearance"]])
    found: list[Position] = []
    for name, mine in rows.groupby("clearance", sort=False):
        row = mine.iloc[0].to_dict()
        at = int(key.get_loc((row["machine"], name)))
        method = methods.get(at) or text_of(row["method"])
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
                location=text_of(row["location"]),
                slot=text_of(row["slot"]),
                partner=text_of(row["partner"]),
                **{word: str(row[word]) for word in ("kind", "basis", "unit", "access")},
            )
        )
    return tuple(found)


def _bound(row: dict[Any, Any]) -> Bound:
    return Bound(
        str(row["moves"]),
        float(row["limit_mm"]),
        text_of(row["limit_source"]),
        text_of(row["limit_meaning"]),
    )
