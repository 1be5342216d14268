"""How the mill writes: what a gauge shows, rounded to its step, in the machine's own unit."""

from __future__ import annotations

from datetime import timedelta
from math import floor, sqrt

from trendwear.lengths import from_mm, to_mm

from .kinds import GAUGES
from .mill import MACHINES
from .seasons import FIRST_YEAR, HourLine, Row, chance
from .wear import MOVED, OTHER_SUPPLIER, ROTORS, Visit, opening_days

ONE_NUMBER_UNTIL = {"T-101": 2015, "P-201": 2015, "P-301": 2015}
"""Years in which the sheets held one number, and not whether it was found or left."""
ANGLES = {("T-201", "sleeve bearing"): (("vertical", 0.0), ("horizontal", -0.0007))}
"""Bearings read at two angles; an oil-grooved bore is a little closer across than down."""
CREWS = ("day crew", "night crew")


def shown_mm(true_mm: float, gauge: str, *reading: str) -> float:
    """What the gauge shows of a true length: off by its own error, not yet rounded."""
    half_width = to_mm(GAUGES[gauge].half_width, GAUGES[gauge].unit)
    return true_mm + half_width / sqrt(3) * float(chance("reading", *reading).standard_normal())


def written(value_mm: float, gauge: str, unit: str) -> str:
    """The number as the shop writes it, to the gauge's step, in ``unit``.

    >>> written(0.1651, "bore gauge and micrometer", "mil")
    '6.5'
    """
    step_mm = to_mm(GAUGES[gauge].step, GAUGES[gauge].unit)
    step = from_mm(step_mm, unit)
    decimals = len(f"{step:.9f}".rstrip("0").partition(".")[2])
    return f"{from_mm(round(value_mm / step_mm) * step_mm, unit):.{decimals}f}"


def halves(value_mm: float) -> str:
    """Mils to the nearest half, written as a fraction.

    >>> halves(0.1651), halves(0.1524)
    ('6½', '6')
    """
    twice = round(from_mm(value_mm, "mil") * 2)
    return f"{twice // 2}{'½' * (twice % 2)}"


def leaves(value_mm: float) -> str:
    """The feeler that enters and the next one, which does not, in inches.

    >>> leaves(0.1651)
    'in 0.006, no-go 0.007'
    """
    enters = floor(from_mm(value_mm, "mil"))
    return f"in {enters / 1000:.3f}, no-go {(enters + 1) / 1000:.3f}"


def readings_of(visit: Visit) -> list[Row]:
    """The rows of the readings sheet that one visit leaves behind."""
    machine = visit.position.machine
    if visit.check:
        return _readings(visit, "check", visit.found_mm)
    if visit.day.year <= ONE_NUMBER_UNTIL.get(machine.tag, 0):
        return _readings(visit, "not stated", visit.found_mm)
    found = _readings(visit, "as-found", visit.found_mm)
    closed = visit.day + timedelta(days=6)
    if visit.worked_on and visit.written_down:
        left = _readings(visit, "as-left", visit.left_mm)
    elif visit.position.kind_name == "sleeve bearing" or machine.first_season > FIRST_YEAR:
        left = [{**row, "state": "as-left"} for row in found]
    else:
        left = []
    return found + [{**row, "date": closed} for row in left]


def _readings(visit: Visit, state: str, true_mm: float) -> list[Row]:
    position = visit.position
    machine = position.machine
    line = HourLine(machine)
    gauge = "lift check" if visit.check else position.gauge
    rows: list[Row] = []
    for angle, wider in ANGLES.get((machine.tag, position.kind_name), (("", 0.0),)):
        reading = (machine.tag, position.clearance, str(visit.day), state, angle)
        value_mm = shown_mm(true_mm + position.mm(wider), gauge, *reading)
        rows.append(
            {
                "machine": machine.tag,
                "clearance": position.clearance,
                "date": visit.day,
                "run_hours": line.meter(visit.day),
                "starts": line.starts(visit.day),
                "state": state,
                "value": written(value_mm, gauge, machine.unit),
                "value_mm": value_mm,
                "angle": angle,
                "method": gauge,
                "by": CREWS[visit.day.toordinal() % 2],
            }
        )
    return rows


def work_of(visit: Visit) -> list[Row]:
    """The row of the work sheet, where something was done and somebody wrote it down."""
    position = visit.position
    machine = position.machine
    if visit.action == "exchanged" or not (visit.worked_on and visit.written_down):
        return []  # the rotor has a line of its own
    row: Row = {
        "machine": machine.tag,
        "clearance": position.clearance,
        "date": visit.day + timedelta(days=3),
        "action": visit.action,
        "run_hours": HourLine(machine).meter(visit.day),
        "by": "shop",
    }
    if visit.action == "renewed":
        row["part_no"] = position.build.part_no
        row["supplier"] = OTHER_SUPPLIER.get(visit.key, ("supplier A", 1.0))[0]
    if visit.action == "moved":
        row["clearance"], row["to_clearance"] = MOVED[visit.key], position.clearance
        row["part_no"], row["serial"] = position.build.part_no, "FT-05-0117"
    if visit.action == "shimmed":
        shift = round(from_mm(visit.left_mm - visit.found_mm, "mil"))
        row["amount"], row["unit"] = f"{shift:+d}", "mil"
    return [row]


def rotor_rows() -> list[Row]:
    """The work sheet's lines on exchanged rotors: one for the whole machine."""
    rows: list[Row] = []
    for machine in MACHINES:
        for day in opening_days(machine):
            if (machine.tag, day.year) in ROTORS:
                other, serial = ROTORS[machine.tag, day.year]
                rows.append(
                    {
                        "machine": machine.tag,
                        "clearance": "*",
                        "date": day + timedelta(days=3),
                        "action": "exchanged",
                        "run_hours": HourLine(machine).meter(day),
                        "serial": serial,
                        "to_machine": other,
                        "by": "shop",
                    }
                )
    return rows
