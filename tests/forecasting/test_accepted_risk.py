"""The risk that a plan accepts is the risk that comes true."""

from __future__ import annotations

import runpy
from pathlib import Path


def test_as_many_machines_are_late_as_were_accepted() -> None:
    """At 5, 10 and 20 %, over more than a thousand machines just overhauled, gamma wear."""
    bench = runpy.run_path(str(Path(__file__).parents[1] / "bench" / "plan_risk.py"))
    table = bench["judge"](bench["deal"](bench["gather"](bench["FIRST"])))
    assert (table["machines"] >= 1000).all()
    assert table["goal_met"].all(), table.to_string()
