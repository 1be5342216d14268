"""Headings and a row of a readings sheet, and the types of the fixtures."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from trendwear.readings.sheet import Incoming

HEADINGS = "machine,clearance,date,run_hours,state,value,unit"
ROW = "K-101,brg DE,2020-05-01,32000,as-found,6.5,mil"

Write = Callable[[str, str], Path]
Read = Callable[..., Incoming]
