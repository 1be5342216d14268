"""A small register, and what a load did with a sheet."""

from __future__ import annotations

from trendwear.readings.loaded import LoadReport

REGISTER = """
machine,clearance,kind,basis,moves,unit,limit,design_min,design_max
K-101,brg DE,sleeve bearing,diametral,opens,mil,12,5,7
K-101,thrust,thrust bearing,axial,opens,mm,0.6,0.25,0.35
K-101,nozzle gap,nozzle gap,axial,closes,mm,0.8,1.5,2.0
"""


def counts(report: LoadReport, sheet: str) -> tuple[int, int, int, int]:
    """Return added, filled, replaced and unchanged rows of a sheet."""
    found = {count.sheet: count for count in report.counts}[sheet]
    return found.added, found.filled, found.replaced, found.unchanged
