"""What may be supposed to be otherwise: one small frozen thing for each sort of change.

A change is checked for sense when it is made; whether it fits a site is for
`trendwear.planning.case_site` to say.  Lengths are millimetres, days are inclusive.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from trendwear.errors import UsageProblem
from trendwear.lengths import from_mm
from trendwear.wording import fold

__all__ = [
    "CancelledWindow",
    "Change",
    "NewWindow",
    "OtherDuty",
    "OtherLimit",
    "OtherMove",
    "OtherRenewal",
    "OtherRisk",
]

HOURS_A_DAY = 24.0


@dataclass(frozen=True)
class OtherDuty:
    """Other running hours between two days.

    Attributes
    ----------
    machine : str or None
        None: every machine.
    start, end : date or None
        First and last day of it; None: from today on, for good.
    hours_per_day : float or None
        Running hours of each of those days, in place of the planned ones.
    factor : float or None
        What the planned hours are multiplied by, where no hours are given.
    """

    machine: str | None = None
    start: dt.date | None = None
    end: dt.date | None = None
    hours_per_day: float | None = None
    factor: float | None = None

    def __post_init__(self) -> None:
        """Refuse hours that no machine can run, and a time that ends before it begins."""
        given = [one for one in (self.hours_per_day, self.factor) if one is not None]
        if len(given) != 1:
            found = "neither is given" if not given else "both are given"
            raise UsageProblem(
                "duty: hours a day or a factor", found, "Give one: 22 hours a day, or 1.1 times."
            )
        if self.hours_per_day is not None and not 0.0 <= self.hours_per_day <= HOURS_A_DAY:
            raise UsageProblem(
                "duty: hours a day", f"{self.hours_per_day:g}", "Give 0 to 24 running hours a day."
            )
        if self.factor is not None and not (self.factor > 0.0 and math.isfinite(self.factor)):
            raise UsageProblem(
                "duty: factor", f"{self.factor:g}", "Give a number above 0: 1.1 for a tenth more."
            )
        if self.hours_per_day == 0.0 and self.end is None:
            raise UsageProblem(
                "duty: hours a day",
                "0 without an end: it would never run again, and no limit would be reached",
                "Say until when it stands, or give the hours that it runs.",
            )
        _in_order("duty", self.start, self.end)

    @property
    def about(self) -> str:
        """What it changes, as two changes of one thing compare."""
        return f"duty {fold(self.machine or '')} {self.start} {self.end}"

    def __str__(self) -> str:
        """Say it in words."""
        whose = self.machine or "every machine"
        start = f"from {self.start:%Y-%m-%d}" if self.start else "from today"
        end = f"to {self.end:%Y-%m-%d}" if self.end else "on"
        if self.factor is not None:
            return f"{whose} runs {self.factor:g} times its planned hours {start} {end}"
        return f"{whose} runs {self.hours_per_day:g} h a day {start} {end}"


@dataclass(frozen=True)
class OtherLimit:
    """Another limit of one clearance.

    Attributes
    ----------
    machine, clearance : str
    limit_mm : float
    unit : str
        The unit it was said in (a key of `trendwear.lengths.MM_PER_UNIT`).
    moves : str or None
        ``opens`` or ``closes``: which limit, of a clearance that has two.
    """

    machine: str
    clearance: str
    limit_mm: float
    unit: str = "mm"
    moves: str | None = None

    def __post_init__(self) -> None:
        """Refuse a limit that is no length, and a way that is none."""
        _named("limit: machine", self.machine)
        _named("limit: clearance", self.clearance)
        if not (self.limit_mm > 0.0 and math.isfinite(self.limit_mm)):
            raise UsageProblem(
                "limit", f"{from_mm(self.limit_mm, self.unit):g}", "Give a length above 0."
            )
        if self.moves not in (None, "opens", "closes"):
            raise UsageProblem("limit: moves", repr(self.moves), "Write opens or closes.")

    @property
    def about(self) -> str:
        """What it changes, as two changes of one thing compare."""
        return f"limit {fold(self.machine)}\0{fold(self.clearance)}\0{self.moves or ''}"

    def __str__(self) -> str:
        """Say it in words."""
        way = f", {self.moves}" if self.moves else ""
        limit = f"{from_mm(self.limit_mm, self.unit):.6g} {self.unit}"
        return f"limit of {self.machine} / {self.clearance}{way} is {limit}"


@dataclass(frozen=True)
class OtherMove:
    """An outage window moved; its freeze moves by as many days."""

    window: str
    start: dt.date
    end: dt.date | None = None
    """None: it stays as long as it is."""

    def __post_init__(self) -> None:
        """Refuse a window without a name, or one that ends before it starts."""
        _named("window", self.window)
        _in_order(f"window {self.window}", self.start, self.end)

    @property
    def about(self) -> str:
        """What it changes, as two changes of one thing compare."""
        return f"window {fold(self.window)}"

    def __str__(self) -> str:
        """Say it in words."""
        end = f" and ends {self.end:%Y-%m-%d}" if self.end else ""
        return f"window {self.window} starts {self.start:%Y-%m-%d}{end}"


@dataclass(frozen=True)
class CancelledWindow:
    """An outage window that does not take place."""

    window: str

    def __post_init__(self) -> None:
        """Refuse a window without a name."""
        _named("window", self.window)

    @property
    def about(self) -> str:
        """What it changes, as two changes of one thing compare."""
        return f"window {fold(self.window)}"

    def __str__(self) -> str:
        """Say it in words."""
        return f"window {self.window} is cancelled"


@dataclass(frozen=True)
class NewWindow:
    """One more outage window; without a site it is for all, without a scope for everything."""

    window: str
    start: dt.date
    end: dt.date
    site: str | None = None
    scope: str | None = None

    def __post_init__(self) -> None:
        """Refuse a window without a name, or one that ends before it starts."""
        _named("window", self.window)
        _in_order(f"window {self.window}", self.start, self.end)

    @property
    def about(self) -> str:
        """What it changes, as two changes of one thing compare."""
        return f"window {fold(self.window)}"

    def __str__(self) -> str:
        """Say it in words."""
        where = f", {self.site}" if self.site else ""
        what = f", {self.scope}" if self.scope else ""
        when = f"{self.start:%Y-%m-%d} to {self.end:%Y-%m-%d}"
        return f"new window {self.window}, {when}{where}{what}"


@dataclass(frozen=True)
class OtherRisk:
    """Another accepted chance of passing a limit.

    Attributes
    ----------
    accepted : float
        0 to 1.
    consequence : str or None
        None: one risk for all limits of a machine together.
    """

    accepted: float
    consequence: str | None = None

    def __post_init__(self) -> None:
        """Refuse what is no chance."""
        if not 0.0 <= self.accepted <= 1.0:
            raise UsageProblem(
                "accepted risk",
                f"{self.accepted:g} is not a chance",
                "Give 0 to 1: 0.1 for one in ten.",
            )
        if self.consequence is not None:
            _named("accepted risk: consequence", self.consequence)

    @property
    def about(self) -> str:
        """What it changes, as two changes of one thing compare."""
        return f"risk {fold(self.consequence or '')}"

    def __str__(self) -> str:
        """Say it in words."""
        of = f"of {self.consequence}" if self.consequence else "for all limits together"
        return f"accepted risk {of} is {100 * self.accepted:.3g} %"


@dataclass(frozen=True)
class OtherRenewal:
    """A clearance renewed on a day, or when a window starts.

    Attributes
    ----------
    machine, clearance : str
    on : date or None
    window : str or None
        The window at whose start it is renewed, where no day is given.
    """

    machine: str
    clearance: str
    on: dt.date | None = None
    window: str | None = None

    def __post_init__(self) -> None:
        """Refuse a renewal without a day, or with two."""
        _named("renewal: machine", self.machine)
        _named("renewal: clearance", self.clearance)
        if (self.on is None) == (self.window is None):
            found = "neither is given" if self.on is None else "both are given"
            raise UsageProblem("renewal: a day or a window", found, "Give one of the two.")

    @property
    def about(self) -> str:
        """What it changes, as two changes of one thing compare."""
        return f"renewal {fold(self.machine)}\0{fold(self.clearance)}"

    def __str__(self) -> str:
        """Say it in words."""
        when = f"on {self.on:%Y-%m-%d}" if self.on else f"at the start of {self.window}"
        return f"{self.machine} / {self.clearance} is renewed {when}"


Change = OtherDuty | OtherLimit | OtherMove | CancelledWindow | NewWindow | OtherRisk | OtherRenewal


def _named(what: str, name: str) -> None:
    if not name.strip():
        raise UsageProblem(what, "it is blank", "Give its name.")


def _in_order(what: str, start: dt.date | None, end: dt.date | None) -> None:
    if start is not None and end is not None and end < start:
        raise UsageProblem(
            what,
            f"it ends on {end:%Y-%m-%d}, before it starts on {start:%Y-%m-%d}",
            "Give an end on or after the start.",
        )
