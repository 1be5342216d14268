"""What stands in the invented mill: its machines and every position that is measured.

Nothing here is a real plant, maker or person.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from trendwear.lengths import to_mm

from .kinds import BUILDS, KINDS, Build, Kind

SITE = "Home mill"


@dataclass(frozen=True)
class Machine:
    """A machine, the unit its sheets are kept in, and the years whose off-season it was opened."""

    tag: str
    description: str
    machine_class: str
    unit: str
    meter_2014: int
    share_of_season: float
    openings: tuple[int, ...]
    train: str = ""
    spare_of: str = ""
    first_season: int = 2014


MACHINES = (
    Machine("T-101", "Mill 1 drive turbine", "mill drive turbine", "mil", 41_250, 1.0,
            (2014, 2015, 2017, 2018, 2020, 2022, 2023, 2025), "milling train"),
    Machine("T-102", "Mill 2 drive turbine", "mill drive turbine", "mil", 52_480, 1.0,
            (2014, 2016, 2017, 2019, 2021, 2023, 2024, 2026), "milling train"),
    Machine("T-103", "Mill 3 drive turbine", "mill drive turbine", "mil", 38_900, 0.98,
            (2014, 2016, 2018, 2020, 2022, 2024, 2026), "milling train"),
    Machine("T-104", "Shredder drive turbine", "mill drive turbine", "mil", 0, 0.97,
            (2026,), "milling train", "", 2025),
    Machine("T-201", "Boiler feed pump turbine", "feed pump turbine", "in", 60_120, 0.95,
            (2015, 2017, 2019, 2021, 2023, 2025), "boiler feed"),
    Machine("P-201", "Boiler feed pump, turbine driven", "boiler feed pump", "mm", 60_120, 0.95,
            (2014, 2015, 2017, 2018, 2019, 2021, 2022, 2024, 2026), "boiler feed"),
    Machine("P-202", "Boiler feed pump, motor driven", "boiler feed pump", "mm", 18_300, 0.45,
            (2015, 2018, 2020, 2022, 2025), "", "P-201"),
    Machine("P-301", "Injection water pump", "injection water pump", "in", 33_700, 1.0,
            (2014, 2015, 2017, 2019, 2021, 2023, 2025)),
    Machine("F-401", "Boiler induced draught fan", "induced draught fan", "mm", 47_600, 0.96,
            (2014, 2016, 2018, 2020, 2022, 2024, 2026)),
    Machine("C-501", "Instrument air compressor", "air compressor", "mm", 29_400, 0.92,
            (2015, 2016, 2018, 2019, 2021, 2022, 2024, 2025, 2026)),
)  # fmt: skip

_RINGS = [
    (f"{end} carbon ring {slot}", "carbon ring", f"{end.lower()} gland", str(slot))
    for end in ("Steam end", "Exhaust end")
    for slot in (1, 2, 3, 4)
]
_ENDS = [
    ("Steam end bearing", "sleeve bearing", "steam end", ""),
    ("Exhaust end bearing", "sleeve bearing", "exhaust end", ""),
    ("Rotor float", "rotor locating bearing float", "steam end", ""),
]
_PUMP_BEARINGS = [
    ("Inboard bearing", "sleeve bearing", "inboard", ""),
    ("Outboard bearing", "sleeve bearing", "outboard", ""),
]

PLACES = {
    "mill drive turbine": [
        *_ENDS, *_RINGS, ("Nozzle to blade gap", "nozzle to blade gap", "first stage", ""),
    ],
    "feed pump turbine": [
        *_ENDS, *[place for place in _RINGS if place[3] != "4"],
        ("Nozzle to blade gap", "nozzle to blade gap", "first stage", ""),
        ("Governor valve stem", "valve stem", "steam chest", ""),
    ],
    "boiler feed pump": [
        *_PUMP_BEARINGS,
        *[(f"Wear ring stage {n}", "wear ring", f"stage {n}", str(n)) for n in (1, 2, 3, 4)],
        ("Balance bushing", "balance bushing", "outboard", ""),
        ("Thrust end play", "thrust end play", "outboard", ""),
    ],
    "injection water pump": [
        *_PUMP_BEARINGS,
        ("Wear ring inboard", "wear ring", "inboard", "1"),
        ("Wear ring outboard", "wear ring", "outboard", "2"),
        ("Packing sleeve inboard", "packing sleeve", "inboard", ""),
        ("Packing sleeve outboard", "packing sleeve", "outboard", ""),
    ],
    "induced draught fan": [
        *_PUMP_BEARINGS,
        ("Thrust end play", "thrust end play", "inboard", ""),
        ("Inlet cone gap", "inlet cone gap", "inlet", ""),
    ],
    "air compressor": [
        ("Main bearing drive end", "sleeve bearing", "drive end", ""),
        ("Main bearing free end", "sleeve bearing", "free end", ""),
        ("Crank pin bearing", "sleeve bearing", "crank", ""),
        ("Crosshead pin", "crosshead pin", "crosshead", ""),
        *[(f"Rod packing {n}", "rod packing", "packing case", str(n)) for n in (1, 2, 3)],
        *[(f"Piston ring {n} side clearance", "piston ring side clearance", "piston", str(n))
          for n in (1, 2)],
        ("Rider band", "rider band", "piston", ""),
    ],
}  # fmt: skip


@dataclass(frozen=True)
class Position:
    """One clearance of one machine, with everything that is known of it."""

    machine: Machine
    clearance: str
    kind_name: str
    location: str
    slot: str
    moves: str

    @property
    def kind(self) -> Kind:
        return KINDS[self.kind_name]

    @property
    def build(self) -> Build:
        return BUILDS[self.machine.machine_class, self.kind_name]

    @property
    def family(self) -> str:
        return f"{self.machine.machine_class}, {self.kind_name}"

    @property
    def gauge(self) -> str:
        metric = self.machine.unit == "mm"
        return f"metric {self.kind.gauge}" if metric else self.kind.gauge

    @property
    def set_name(self) -> str:
        """Rings of one gland are ordered and renewed together."""
        return f"{self.location} rings" if self.kind_name == "carbon ring" else ""

    def mm(self, value: float) -> float:
        """A length of this machine's sheets in millimetres."""
        return to_mm(value, self.machine.unit)


@cache
def positions() -> tuple[Position, ...]:
    """Every clearance of the mill.

    The gap of the feed pump turbine's nozzles is limited both ways and counts as
    one that opens; on the mill drive turbines it closes.
    """
    return tuple(
        Position(
            machine,
            clearance,
            kind,
            location,
            slot,
            "opens" if machine.tag == "T-201" else KINDS[kind].moves,
        )
        for machine in MACHINES
        for clearance, kind, location, slot in PLACES[machine.machine_class]
    )
