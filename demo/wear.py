"""How the mill's clearances really wore: a gamma process in each, seen at every opening.

A clearance grows by independent gamma increments whose mean is proportional to the
hours run (van Noortwijk, *Reliability Engineering & System Safety* 94, 2009, 2-21).
Each position has its own rate, log-normal about the rate of its family; after
10,000 h the growth of one position scatters by a fifth of itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from math import exp

import pandas as pd

from .mill import MACHINES, Machine, Position, positions
from .seasons import AS_OF, FIRST_YEAR, HourLine, chance

SPREAD_IN_FAMILY = 0.25
"""Standard deviation of the logarithm of a position's rate about its family's."""
SCATTER_AT_10000H = 0.20
REFERENCE_AGE = 20.0
"""Age in 1000 h at which a part that wears ever faster has its family's mean rate."""
RENEWED_FROM = 0.78
"""The shop renews what it finds to have used this share of its allowance."""
NEXT_YEAR = AS_OF.year + 1

CHECKS = {
    ("T-101", "Steam end bearing"): (date(2021, 9, 18), date(2026, 8, 11)),
    ("T-102", "Exhaust end bearing"): (date(2025, 8, 5),),
}
"""Bearings lifted on a closed machine during a stop."""

DECISIONS = {
    ("T-103", "Steam end carbon ring 3", 2020): "renewed",
    ("T-103", "Steam end carbon ring 2", 2026): "left in",
    ("T-102", "Exhaust end carbon ring 2", 2024): "left in",
    ("T-102", "Exhaust end carbon ring 2", 2026): "left in",
}
"""What was decided by hand, against or without the shop's rule."""

UNWRITTEN = {("T-103", "Steam end carbon ring 3", 2020)}
"""Work that nobody wrote down."""

OTHER_SUPPLIER = {("T-102", "Exhaust end carbon ring 2", 2019): ("supplier B", 1.25)}
"""Parts bought elsewhere, and how much faster they wear."""

ROTORS = {
    ("T-101", 2017): ("T-102", "MT-R2"),
    ("T-102", 2017): ("", "MT-R1"),
    ("T-101", 2023): ("T-102", ""),
}
"""Rotors exchanged, as written down: with which machine, and the number of the one that came in.

In 2017 each crew wrote its line; in 2023 one line of one machine told of both.
"""
_EXCHANGED = {*ROTORS, *((other, year) for (_, year), (other, _) in ROTORS.items() if other)}
JOURNALS_DIFFER_MM = 0.004
"""Two rotors' journals and sleeves differ by so much: one standard deviation."""

MOVED = {("T-201", "Steam end carbon ring 2", 2023): "Exhaust end carbon ring 2"}
"""A worn ring was replaced by one that had run elsewhere; that place got a new one."""

FIRST_MEASURED = {("C-501", "Rider band"): 2026}


@dataclass(frozen=True)
class Visit:
    """One position at one opening, or at a check of the closed machine: the truth, in mm."""

    position: Position
    day: date
    check: bool
    found_mm: float
    action: str
    left_mm: float

    @property
    def key(self) -> tuple[str, str, int]:
        return (self.position.machine.tag, self.position.clearance, self.day.year)

    @property
    def worked_on(self) -> bool:
        return self.action not in ("", "left in")

    @property
    def written_down(self) -> bool:
        return self.key not in UNWRITTEN


class Clearance:
    """The true clearance of one position as the hours pass."""

    def __init__(self, position: Position) -> None:
        build = position.build
        self.position = position
        self._draw = chance(position.machine.tag, position.clearance)
        spread = exp(SPREAD_IN_FAMILY * self._draw.standard_normal())
        self.rate = position.mm(build.per_1000h) * spread
        self._towards = 1 if position.moves == "opens" else -1
        self.mm = self._as_built()
        self.age = 0.0
        if position.machine.first_season == FIRST_YEAR:
            self.wear(self._draw.uniform(0.5, 9.0))

    def _as_built(self) -> float:
        build = self.position.build
        return self.position.mm(self._draw.uniform(build.design_min, build.design_max))

    def wear(self, kilohours: float) -> None:
        """Let the part run for so many thousand hours."""
        shape = self.position.build.shape
        before, self.age = self.age, self.age + kilohours
        worth = REFERENCE_AGE * (
            (self.age / REFERENCE_AGE) ** shape - (before / REFERENCE_AGE) ** shape
        )
        scatter = SCATTER_AT_10000H**2 * 10
        if worth > 0 and self.rate > 0:
            self.mm += self._towards * self._draw.gamma(worth / scatter, scatter * self.rate)

    @property
    def used(self) -> float:
        """Share of the allowance between design and limit that is gone."""
        build = self.position.build
        if build.limit is None:
            return 0.0
        design = (build.design_min + build.design_max) / 2
        return (self.mm - self.position.mm(design)) / self.position.mm(build.limit - design)

    def mend(self, action: str, year: int) -> None:
        """Do what the shop does; a new part may wear at another rate."""
        if action in ("", "left in"):
            return
        if action == "shimmed":
            self.mm += shim_mm(self)
            return
        if action == "exchanged":
            draw = chance(self.position.machine.tag, self.position.clearance, "rotor", str(year))
            self.mm += JOURNALS_DIFFER_MM * float(draw.standard_normal())
            return
        self.mm = self._as_built()
        if action != "adjusted":
            self.age = 0.0
        key = (self.position.machine.tag, self.position.clearance, year)
        self.rate *= OTHER_SUPPLIER.get(key, ("", 1.0))[1]


def shim_mm(clearance: Clearance) -> float:
    """The whole number of mils, signed, that brings a float back to the middle of its design."""
    position = clearance.position
    middle = position.mm((position.build.design_min + position.build.design_max) / 2)
    return round((middle - clearance.mm) / 0.0254) * 0.0254


def _action(position: Position) -> str:
    if position.kind_name == "nozzle to blade gap":
        return "adjusted"
    if position.kind_name == "rotor locating bearing float":
        return "shimmed"
    if position.kind_name == "sleeve bearing" and position.machine.tag.startswith("T"):
        return "re-babbitted"
    return "renewed"


def _decide(clearances: list[Clearance], year: int) -> dict[str, str]:
    """What is done to each position; two worn rings of a gland renew the whole set."""
    worn = [c.position for c in clearances if c.used > RENEWED_FROM]
    sets = [p.set_name for p in worn if p.set_name]
    decided = {p.clearance: _action(p) for p in worn}
    for clearance in clearances:
        position = clearance.position
        if position.set_name and sets.count(position.set_name) >= 2:
            decided[position.clearance] = "renewed"
        by_hand = DECISIONS.get((position.machine.tag, position.clearance, year))
        if by_hand:
            decided[position.clearance] = by_hand
        source = MOVED.get((position.machine.tag, position.clearance, year))
        if source:
            decided |= {position.clearance: "moved", source: "renewed"}
    if (clearances[0].position.machine.tag, year) in _EXCHANGED:
        rotor = {clearance.position.clearance: "exchanged" for clearance in clearances}
        decided = rotor | decided
    return decided


def opening_days(machine: Machine) -> list[date]:
    """First day of each opening: in February or March, before the season."""
    draw = chance(machine.tag, "openings")
    return [
        date(year, 2, 2) + timedelta(days=int(draw.integers(0, 40)))
        for year in (*machine.openings, NEXT_YEAR)
    ]


def _visits(machine: Machine) -> list[Visit]:
    line = HourLine(machine)
    clearances = [Clearance(p) for p in positions() if p.machine is machine]
    openings = set(opening_days(machine))
    checks = {
        (day, c.position.clearance)
        for c in clearances
        for day in CHECKS.get((machine.tag, c.position.clearance), ())
    }
    visits: list[Visit] = []
    hours = line.run(date(FIRST_YEAR, 1, 1))
    for day in sorted(openings | {day for day, _ in checks}):
        kilohours, hours = (line.run(day) - hours) / 1000, line.run(day)
        for clearance in clearances:
            clearance.wear(kilohours)
        opened = day in openings
        decided = _decide(clearances, day.year) if opened and day <= AS_OF else {}
        was = {clearance.position.clearance: clearance.mm for clearance in clearances}
        for clearance in clearances:
            position = clearance.position
            if not opened and (day, position.clearance) not in checks:
                continue
            found, action = clearance.mm, decided.get(position.clearance, "")
            if action == "moved":
                clearance.mm = was[MOVED[position.machine.tag, position.clearance, day.year]]
            else:
                clearance.mend(action, day.year)
            if day.year >= FIRST_MEASURED.get((machine.tag, position.clearance), 0):
                visits.append(Visit(position, day, not opened, found, action, clearance.mm))
    return visits


@cache
def all_visits() -> tuple[Visit, ...]:
    """Every visit of the mill, the one after the demo's as-of date included."""
    return tuple(visit for machine in MACHINES for visit in _visits(machine))


def true_rates() -> pd.DataFrame:
    """Return the wear that was built in, one row a clearance.

    Columns: machine, clearance, family, rate_mm_per_1000h (of the part that is in
    now, positive towards the limit), shape (1: straight; above 1: ever faster, the
    rate is then the mean over the first 20,000 h of a part).
    """
    return pd.DataFrame(
        [
            {
                "machine": position.machine.tag,
                "clearance": position.clearance,
                "family": position.family,
                "rate_mm_per_1000h": _rate_now(position),
                "shape": position.build.shape,
            }
            for position in positions()
        ]
    )


def _rate_now(position: Position) -> float:
    rate = Clearance(position).rate
    for (tag, clearance, _), (_, faster) in OTHER_SUPPLIER.items():
        if (tag, clearance) == (position.machine.tag, position.clearance):
            rate *= faster
    return rate
