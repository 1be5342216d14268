"""An example of every column of the form, as it stands in grey above the headings.

The machine and all that is said of it are invented.
"""

from __future__ import annotations

from typing import Final

from trendwear.readings.columns import Column, Holds, Sheet

__all__ = ["HOW_TO", "example_of"]

HOW_TO: Final = (
    "How to fill in these sheets",
    "1. Write from the first row below the dark headings. What stands above them, this sheet, "
    "and columns with a heading in brackets are for you: they are not read.",
    "2. Start with the sheet readings. Only machine, clearance, state and value must be filled, "
    "with a date or the running hours. Everything else may follow later.",
    "3. The sheet clearances says of each position what it is, how it is counted (diametral, "
    "radial, axial or thickness), which way it wears, and in which unit it is kept. Until it "
    "does, readings of that position are kept and wait.",
    "4. Write values as the shop writes them: 6.5, 6 1/2, 6-1/2, 1/16 in, 0.16 mm, in 6 no-go 7, "
    "<2, >40. The cells are set to text, so that a spreadsheet program makes no date of 1/16.",
    "5. A unit in the cell counts before that of the row, and the row's before that of the "
    "register. No unit anywhere: the reading is refused, never guessed.",
    "6. Write dates as 2019-05-31, or 2019-05, or 2019 where no more is known. 03/04/2019 can mean "
    "two days and is refused.",
    "7. Write down the work: a renewed part starts a new trend.",
    "8. Dark blue headings must be filled, lighter ones may stay blank. Leave out any sheet and "
    "any column that you have nothing for.",
    "9. See what would go in: trendwear load --dry-run THIS FILE. Bring it in: trendwear load THIS "
    "FILE. Loading it again changes nothing, so the file can grow.",
)

_BY_NAME: Final = {
    "machine": "T-101",
    "clearance": "Steam end bearing",
    "date": "2019-05-31",
    "run_hours": "41250",
    "opening": "2019 overhaul",
    "unit": "mil",
    "kind": "sleeve bearing",
    "basis": "diametral",
    "moves": "opens",
    "by": "the day shift",
    "note": "cap bolts were loose",
    "site": "north boiler house",
    "method": "feeler",
    "uncertainty": "0.5",
    "consequence": "damage",
    "part": "bearing shell",
    "part_no": "BS-40",
    "family": "mill drive turbine / sleeve bearing",
    "outage": "2027 May",
    "supplier": "bearing works",
    "crew_days": "12",
    "cost": "9000",
}

_OWN: Final = {
    "machines": {
        "description": "turbine of cane mill 1",
        "class": "mill drive turbine",
        "train": "mill 1",
        "spare_of": "T-102",
        "open_days": "6",
        "crew_day_cost": "900",
        "cost_if_past": "150000",
    },
    "clearances": {
        "limit": "12",
        "limit_from": "2015-01-01",
        "limit_source": "manual, page 41",
        "limit_meaning": "renew at overhaul",
        "design_min": "5",
        "design_max": "6",
        "limiting": "yes",
        "quantity": "2",
        "location": "steam end",
        "slot": "1",
        "set": "bearings",
        "partner": "shaft journal",
        "access": "bearing cap",
        "reduce": "worst",
    },
    "readings": {
        "state": "as-found",
        "value": "6-1/2",
        "starts": "310",
        "repeat": "1",
        "plane": "front",
        "angle": "12 o'clock",
        "instrument": "feelers, set 3",
        "surface": "dry",
        "temperature": "20 °C",
    },
    "work": {
        "action": "shimmed",
        "amount": "-2",
        "serial": "0417",
        "to_clearance": "Exhaust end bearing",
        "to_machine": "T-102",
    },
    "events": {"what": "wet steam", "severity": "two hours", "clearances": "all rings"},
    "run_log": {"starts": "310", "meter": "replaced"},
    "dimensions": {
        "state": "as-found",
        "part": "bore",
        "plane": "front",
        "angle": "0",
        "repeat": "1",
        "value": "4.0020 in",
        "method": "bore gauge",
        "uncertainty": "0.2",
        "temperature": "22 °C",
        "material": "carbon steel",
        "instrument": "bore gauge 2",
    },
    "materials": {
        "material": "our babbitt shells",
        "expansion": "11.7e-6",
        "source": "handbook, page 9",
    },
    "duty_plan": {
        "from": "2026-11-01",
        "to": "2027-04-30",
        "hours_per_day": "22",
        "starts_per_month": "2",
        "spread": "0.15",
    },
    "outages": {
        "start": "2027-05-03",
        "end": "2027-05-21",
        "scope": "casing",
        "freeze": "2027-02-01",
        "machines": "3",
    },
    "due_dates": {
        "what": "insurer's inspection",
        "due": "2028-06-30",
        "tolerance_days": "60",
        "authority": "insurer",
    },
    "risks": {"accepted": "0.1", "by": "plant manager"},
    "parts": {
        "supplier_part_name": "journal liner, two halves",
        "supplier_part_no": "JL 0040",
        "superseded_by": "BS-41",
        "lead_time_days": "90",
        "price": "1200",
        "in_stock": "1",
    },
    "concessions": {
        "why": "no outage before May",
        "until": "2027-05-31",
        "accepted_limit": "14",
        "moves": "opens",
        "by": "chief engineer",
    },
    "methods": {"resolution": "1", "bias": "0.5", "uncertainty": "0.6"},
    "families": {"hours_per_start": "20", "power": "1"},
    "names": {"as_written": "SE brg", "clearance": "Steam end bearing"},
}
_ANY: Final = {
    Holds.DATE: "2019-05-31",
    Holds.NUMBER: "1",
    Holds.COUNT: "1",
    Holds.HOURS: "41250",
    Holds.LENGTH: "6.5",
    Holds.UNIT: "mil",
    Holds.YES_NO: "yes",
    Holds.TEMPERATURE: "20 °C",
}


def example_of(sheet: Sheet, column: Column) -> str:
    """Return what a cell of that column may look like."""
    own = _OWN.get(sheet.name, {}).get(column.name) or _BY_NAME.get(column.name)
    return own or (column.words[0] if column.words else _ANY.get(column.holds, ""))
