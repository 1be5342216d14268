"""The mill's year: it crushes from May to November and is opened before the next season.

Hour meters follow the season; so do the run log, the duty plan and the outages.
"""

from __future__ import annotations

from datetime import date, timedelta
from zlib import crc32

import numpy as np

from .mill import MACHINES, SITE, Machine

Row = dict[str, object]

SEED = 20_141_126
AS_OF = date(2026, 11, 1)
FIRST_YEAR, LAST_YEAR = 2014, 2030
SEASON_START, SEASON_END = (5, 15), (11, 20)
HOURS_A_DAY = 23.2
NEW_METER = {"T-102": (date(2019, 5, 13), date(2019, 5, 14))}
"""Last reading of the old meter and first of the new one, which starts at 0."""
LOG_LOST = {"P-301": (2014, 2016), "F-401": (2015, 2016)}
"""First and last year of the log books that are gone."""


def chance(*words: str) -> np.random.Generator:
    """A generator of its own for each thing that is drawn: one more position changes no other."""
    return np.random.default_rng([SEED, crc32("/".join(words).encode())])


def in_season(machine: Machine) -> float:
    """Planned running hours a day while the mill crushes."""
    return HOURS_A_DAY * machine.share_of_season


def off_season(machine: Machine) -> float:
    """Planned running hours a day outside the season: only instrument air is needed."""
    return 6.0 if machine.machine_class == "air compressor" else 0.0


class HourLine:
    """Running hours of one machine against the calendar, season by season."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        draw = chance(machine.tag, "seasons")
        days, hours = [date(FIRST_YEAR, 1, 1).toordinal()], [float(machine.meter_2014)]
        for year in range(FIRST_YEAR, LAST_YEAR + 1):
            start, end = date(year, *SEASON_START), date(year, *SEASON_END)
            idle = (start.toordinal() - days[-1]) * off_season(machine)
            availability = min(0.95 + 0.03 * draw.standard_normal(), 1.0)
            here = year >= machine.first_season
            season = (end - start).days * in_season(machine) * availability * here
            days += [start.toordinal(), end.toordinal()]
            hours += [hours[-1] + idle, hours[-1] + idle + season]
        self._days, self._hours = np.array(days), np.array(hours)

    def run(self, day: date) -> float:
        """Hours run since the machine was new, whatever its meters said."""
        return float(np.interp(day.toordinal(), self._days, self._hours))

    def meter(self, day: date) -> int:
        """What the hour meter shows on that day."""
        old_last, new_first = NEW_METER.get(self.machine.tag, (day, date.max))
        return round(self.run(day) - (self.run(old_last) if day >= new_first else 0.0))

    def starts(self, day: date) -> int:
        """Start counter: about eight starts a season."""
        seasons = (self.run(day) - self.machine.meter_2014) / 4200 / self.machine.share_of_season
        return (120 if self.machine.first_season == FIRST_YEAR else 0) + round(8 * seasons)


def run_log() -> list[Row]:
    """Hour-meter readings at the end of each month."""
    rows: list[Row] = []
    for machine in MACHINES:
        line = HourLine(machine)
        old_last, new_first = NEW_METER.get(machine.tag, (date.max, date.max))
        lost = LOG_LOST.get(machine.tag, (date.max.year, 0))
        days = [
            date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)
            for year in range(machine.first_season, AS_OF.year + 1)
            for month in range(1, 13)
            if not lost[0] <= year <= lost[1]
        ]
        days = sorted({*days, old_last, new_first})
        rows += [
            _log_row(line, day, "replaced" if day == new_first else "")
            for day in days
            if day <= AS_OF
        ]
    return rows


def _log_row(line: HourLine, day: date, meter: str) -> Row:
    return {
        "machine": line.machine.tag,
        "date": day,
        "run_hours": line.meter(day),
        "starts": line.starts(day),
        "meter": meter,
    }


def duty_plan() -> list[Row]:
    """Planned hours of this season and the two after it; then the last year repeats."""
    rows: list[Row] = []
    for machine in MACHINES:
        for year in range(AS_OF.year, AS_OF.year + 3):
            begin, end = date(year, *SEASON_START), date(year, *SEASON_END)
            spans = [
                (begin, end, round(in_season(machine) * 0.95, 1), 1.3),
                (
                    end + timedelta(days=1),
                    date(year + 1, *SEASON_START) - timedelta(days=1),
                    off_season(machine),
                    0.0,
                ),
            ]
            rows += [
                {
                    "machine": machine.tag,
                    "from": first,
                    "to": last,
                    "hours_per_day": hours,
                    "starts_per_month": starts,
                    "spread": 0.08,
                }
                for first, last, hours, starts in spans
            ]
    return rows


def outages() -> list[Row]:
    """Every off-season, and a short stop in the middle of the next season."""
    rows: list[Row] = [
        {
            "outage": f"Off-season {year}",
            "start": date(year - 1, 12, 1),
            "end": date(year, 4, 25),
            "site": SITE,
            "scope": "any machine",
            "freeze": date(year - 1, 8, 1),
            "machines": 6,
            "crew_days": 180,
        }
        for year in range(AS_OF.year + 1, AS_OF.year + 6)
    ]
    stop = date(AS_OF.year + 1, 8, 9)
    rows.insert(
        1,
        {
            "outage": f"Mid-season stop {stop.year}",
            "start": stop,
            "end": stop + timedelta(days=4),
            "site": SITE,
            "scope": "bearing caps and gland housings only",
            "freeze": date(stop.year, 6, 1),
            "machines": 2,
            "crew_days": 16,
            "cost": 60_000,
        },
    )
    return rows
