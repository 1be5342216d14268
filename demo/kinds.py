"""How the invented mill measures, what wears in it, and the wear that is built in.

Nothing here is a real plant, maker or person.  Design clearances and limits are
invented within the ranges that handbooks give: sleeve bearings by 0.0015 in typical
and 0.003 in at most per inch of journal (Bloch & Geitner, *Major Process Equipment
Maintenance and Repair*, p. 30), wear rings renewed at twice the design clearance
(*Pump Handbook*, centrifugal section); the rest is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Gauge:
    """A way of measuring: the finest step one reads, and the ± half-width it is good for."""

    unit: str
    half_width: float
    step: float


GAUGES = {
    "bore gauge and micrometer": Gauge("mil", 0.4, 0.1),
    "inside and outside micrometer": Gauge("mil", 0.6, 0.1),
    "dial indicator": Gauge("mil", 1.0, 0.5),
    "taper gauge": Gauge("mil", 2.0, 1.0),
    "lift check": Gauge("mil", 1.0, 0.5),
    "feeler": Gauge("mil", 1.0, 1.0),
    "metric bore gauge and micrometer": Gauge("mm", 0.010, 0.005),
    "metric inside and outside micrometer": Gauge("mm", 0.015, 0.01),
    "metric dial indicator": Gauge("mm", 0.025, 0.01),
    "metric taper gauge": Gauge("mm", 0.05, 0.05),
}


@dataclass(frozen=True)
class Kind:
    """What all positions of one kind share."""

    basis: str
    moves: str
    consequence: str
    access: str
    gauge: str
    part: str
    supplier_part: str
    partner: str


_BORE, _INSIDE, _DIAL = (
    "bore gauge and micrometer",
    "inside and outside micrometer",
    "dial indicator",
)

KINDS = {
    "sleeve bearing": Kind(
        "diametral", "opens", "damage", "bearing cap", _BORE,
        "bearing shell", "journal liner, two halves", "shaft journal",
    ),
    "rotor locating bearing float": Kind(
        "axial", "opens", "damage", "bearing cap", _DIAL,
        "locating bearing shoes", "thrust segment kit", "thrust collar",
    ),
    "carbon ring": Kind(
        "diametral", "opens", "leak", "packing housing", _INSIDE,
        "carbon ring", "segmental gland ring, 3 segments", "shaft sleeve",
    ),
    "nozzle to blade gap": Kind(
        "axial", "closes", "damage", "casing", "taper gauge",
        "nozzle ring", "nozzle segment assembly", "rotor disc",
    ),
    "valve stem": Kind(
        "diametral", "opens", "leak", "none", _INSIDE,
        "stem bushing", "guide bush", "governor valve stem",
    ),
    "wear ring": Kind(
        "diametral", "opens", "efficiency", "casing", _INSIDE,
        "casing wear ring", "neck ring, stationary", "impeller ring",
    ),
    "balance bushing": Kind(
        "diametral", "opens", "efficiency", "casing", _INSIDE,
        "balance bushing", "pressure reducing bush", "balance drum",
    ),
    "thrust end play": Kind(
        "axial", "opens", "damage", "bearing cap", _DIAL,
        "thrust shoes", "thrust segment kit", "thrust collar",
    ),
    "packing sleeve": Kind(
        "diametral", "opens", "leak", "packing housing", _INSIDE,
        "packing sleeve", "shaft protection sleeve", "throat bushing",
    ),
    "inlet cone gap": Kind(
        "radial", "opens", "efficiency", "casing", "taper gauge",
        "inlet cone", "suction nozzle ring", "fan wheel shroud",
    ),
    "crosshead pin": Kind(
        "diametral", "opens", "damage", "casing", _BORE,
        "pin bushing", "small end bush", "crosshead pin",
    ),
    "rod packing": Kind(
        "diametral", "opens", "leak", "packing housing", _INSIDE,
        "packing ring pair", "rod seal ring set", "piston rod",
    ),
    "piston ring side clearance": Kind(
        "axial", "opens", "efficiency", "casing", _DIAL,
        "piston ring", "compression ring", "piston groove",
    ),
    "rider band": Kind(
        "thickness", "closes", "damage", "casing", _INSIDE,
        "rider band", "piston guide ring", "liner",
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Build:
    """One kind as one class of machine has it; lengths in the machine's own unit.

    ``limit`` None: none is known.  ``per_1000h`` is the median wear of the family;
    ``shape`` above 1 means that the part wears ever faster as it ages.
    """

    design_min: float
    design_max: float
    limit: float | None
    per_1000h: float
    part_no: str
    shape: float = 1.0


BUILDS = {
    ("mill drive turbine", "sleeve bearing"): Build(5, 7, 12, 0.17, "MT-02"),
    ("mill drive turbine", "rotor locating bearing float"): Build(8, 14, 20, 0.22, "MT-03"),
    ("mill drive turbine", "carbon ring"): Build(4, 6, 15, 0.27, "MT-05"),
    ("mill drive turbine", "nozzle to blade gap"): Build(60, 80, 45, 0.6, "MT-07"),
    ("feed pump turbine", "sleeve bearing"): Build(0.0035, 0.0050, 0.0075, 0.00011, "FT-02"),
    ("feed pump turbine", "rotor locating bearing float"): Build(
        0.008, 0.012, 0.018, 0.0002, "FT-03"
    ),
    ("feed pump turbine", "carbon ring"): Build(0.003, 0.005, 0.012, 0.0002, "FT-05"),
    ("feed pump turbine", "nozzle to blade gap"): Build(0.060, 0.080, 0.095, 0.0005, "FT-07"),
    ("feed pump turbine", "valve stem"): Build(0.004, 0.006, None, 0.00015, "FT-09"),
    ("boiler feed pump", "sleeve bearing"): Build(0.10, 0.14, 0.21, 0.0022, "BP-02"),
    ("boiler feed pump", "wear ring"): Build(0.45, 0.50, 0.90, 0.017, "BP-11"),
    ("boiler feed pump", "balance bushing"): Build(0.30, 0.36, 0.65, 0.013, "BP-13"),
    ("boiler feed pump", "thrust end play"): Build(0.25, 0.35, 0.60, 0.0, "BP-03"),
    ("injection water pump", "sleeve bearing"): Build(0.0045, 0.006, 0.009, 0.0001, "WP-02"),
    ("injection water pump", "wear ring"): Build(0.020, 0.023, 0.040, 0.0007, "WP-11", shape=1.6),
    ("injection water pump", "packing sleeve"): Build(0.015, 0.020, 0.045, 0.0011, "WP-14"),
    ("induced draught fan", "sleeve bearing"): Build(0.20, 0.26, 0.42, 0.0045, "DF-02"),
    ("induced draught fan", "thrust end play"): Build(0.30, 0.40, 0.70, 0.0, "DF-03"),
    ("induced draught fan", "inlet cone gap"): Build(4.0, 5.0, 9.0, 0.012, "DF-15"),
    ("air compressor", "sleeve bearing"): Build(0.08, 0.13, 0.25, 0.0038, "AC-02"),
    ("air compressor", "crosshead pin"): Build(0.03, 0.045, 0.15, 0.0027, "AC-21"),
    ("air compressor", "rod packing"): Build(0.25, 0.32, 0.60, 0.008, "AC-22"),
    ("air compressor", "piston ring side clearance"): Build(0.04, 0.07, 0.20, 0.0033, "AC-23"),
    ("air compressor", "rider band"): Build(5.95, 6.05, 3.0, 0.08, "AC-24"),
}
