"""The mill's registers: machines, clearances, parts, methods, due dates, risks, a concession."""

from __future__ import annotations

from .kinds import BUILDS, GAUGES, KINDS
from .mill import MACHINES, SITE, Position, positions
from .seasons import Row

_SHEETS = {
    "sleeve bearing": "maintenance manual, sheet 4",
    "rotor locating bearing float": "maintenance manual, sheet 4",
    "carbon ring": "maintenance manual, sheet 6",
    "nozzle to blade gap": "maintenance manual, sheet 7",
    "wear ring": "shop rule: twice the design clearance",
    "rod packing": "compressor handbook, table 3",
    "piston ring side clearance": "compressor handbook, table 3",
    "crosshead pin": "compressor handbook, table 2",
    "rider band": "compressor handbook, table 3",
}
_DO_NOT_RUN = ("rotor locating bearing float", "nozzle to blade gap")
_LEAD_TIME_DAYS = {"damage": 120, "leak": 75, "efficiency": 150, "people": 90}


def machines() -> list[Row]:
    return [
        {
            "machine": machine.tag,
            "description": machine.description,
            "class": machine.machine_class,
            "site": SITE,
            "train": machine.train,
            "spare_of": machine.spare_of,
            "open_days": 8 if machine.tag.startswith("T") else 4,
            "crew_days": 24 if machine.tag.startswith("T") else 9,
            "crew_day_cost": 420,
            "cost_if_past": 40_000 if machine.train else 12_000,
        }
        for machine in MACHINES
    ]


def clearances() -> list[Row]:
    """One row for each clearance and limit; a gap limited both ways has two."""
    rows: list[Row] = []
    for position in positions():
        rows.append(_register_row(position))
        if position.kind.moves != position.moves:
            rows.append(
                {
                    **rows[-1],
                    "moves": position.kind.moves,
                    "limit": "0.045",
                    "consequence": "damage",
                }
            )
    return rows


def _register_row(position: Position) -> Row:
    build, kind = position.build, position.kind
    decimals = {"mil": 0, "in": 4, "mm": 3}[position.machine.unit]
    limit = "" if build.limit is None else f"{build.limit:.{decimals}f}"
    meaning = "do not run beyond" if position.kind_name in _DO_NOT_RUN else "renew at overhaul"
    return {
        "machine": position.machine.tag,
        "clearance": position.clearance,
        "kind": position.kind_name,
        "basis": kind.basis,
        "moves": position.moves,
        "unit": position.machine.unit,
        "limit": limit,
        "limit_source": _SHEETS.get(position.kind_name, "maker's data sheet") if limit else "",
        "limit_meaning": meaning if limit else "",
        "design_min": f"{build.design_min:.{decimals}f}",
        "design_max": f"{build.design_max:.{decimals}f}",
        "consequence": kind.consequence,
        "limiting": "yes" if limit else "no",
        "part": kind.part,
        "part_no": build.part_no,
        "quantity": 1,
        "location": position.location,
        "slot": position.slot,
        "set": position.set_name,
        "partner": f"{kind.partner}, {position.location}",
        "access": kind.access,
        "method": position.gauge,
    }


def parts() -> list[Row]:
    """What the shop and the supplier call each part; nothing wears out that cannot be ordered."""
    rows: list[Row] = []
    for number, ((_, kind_name), build) in enumerate(BUILDS.items()):
        kind = KINDS[kind_name]
        rows.append(
            {
                "part_no": build.part_no,
                "part": kind.part,
                "supplier": "supplier A",
                "supplier_part_name": kind.supplier_part,
                "supplier_part_no": f"A-{4100 + 7 * number}",
                "lead_time_days": _LEAD_TIME_DAYS[kind.consequence],
                "price": 180 + 95 * (number * 5 % 11),
                "in_stock": number * 3 % 4,
            }
        )
    return rows


def methods() -> list[Row]:
    """How good each gauge is; the half-widths are starting values from memory."""
    rows: list[Row] = [
        {
            "method": name,
            "uncertainty": f"± {gauge.half_width:g}",
            "unit": gauge.unit,
            "resolution": f"{gauge.step:g}",
        }
        for name, gauge in GAUGES.items()
    ]
    return [
        *rows,
        {"method": "steel rule", "uncertainty": "± 16", "unit": "mil", "resolution": "31"},
    ]


def due_dates() -> list[Row]:
    return [
        {"machine": "T-201", "what": "internal inspection", "due": "2028-04-25",
         "tolerance_days": 30, "authority": "insurer"},
        {"machine": "T-101", "what": "overspeed trip test", "due": "2027-05-15",
         "tolerance_days": 0, "authority": "site rule"},
        {"machine": "C-501", "what": "air receiver inspection", "due": "2027-03-31",
         "tolerance_days": 0, "authority": "pressure equipment law"},
    ]  # fmt: skip


def concessions() -> list[Row]:
    """A ring found past its limit, with none on the shelf: put back until the next off-season."""
    return [
        {"machine": "T-102", "clearance": "Exhaust end carbon ring 2", "date": "2026-03-06",
         "by": "mill engineer", "why": "no ring on the shelf", "until": "2026-12-31",
         "accepted_limit": 20},
    ]  # fmt: skip


def risks() -> list[Row]:
    """The chance of passing a limit that the mill accepts."""
    accepted = {"efficiency": 0.30, "leak": 0.20, "damage": 0.10, "people": 0.01}
    return [
        {
            "consequence": consequence,
            "accepted": chance,
            "by": "mill engineer",
            "date": "2024-12-02",
        }
        for consequence, chance in accepted.items()
    ]
