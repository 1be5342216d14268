"""An issued plan with the names of its machines and clearances as the register spells them now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pandas as pd

from trendwear.planning.issued import Frozen
from trendwear.planning.issued_tables import details_of, frozen_from, tables_of
from trendwear.wording import fold_column

__all__ = ["respelt", "spelt_otherwise"]

Frames = Mapping[str, pd.DataFrame]
Pairs = dict[tuple[str, str], str]


def respelt(frozen: Frozen, machines: pd.DataFrame, register: pd.DataFrame) -> Frozen:
    """Return an issued plan in today's spelling; names that are gone stay as they were.

    Parameters
    ----------
    frozen : Frozen
    machines, register : DataFrame
        `tables.MACHINES` and `tables.CLEARANCES` as they are now.
    """
    names = dict(zip(fold_column(machines["machine"]), machines["machine"], strict=True))
    keys = zip(fold_column(register["machine"]), fold_column(register["clearance"]), strict=True)
    pairs: Pairs = dict(zip(keys, register["clearance"], strict=True))
    frames = {name: _in_frame(frame, names, pairs) for name, frame in tables_of(frozen).items()}
    as_of = frozen.plan.as_of
    alike = frozen_from(frames, details_of(frozen), as_of)
    wanted = _respelt(pd.Series(frozen.machines, dtype="object"), names)
    return replace(alike, machines=tuple(wanted))


def spelt_otherwise(before: Frozen, after: Frozen) -> dict[str, str]:
    """Return the machines whose spelling changed: as it was, and as it is."""
    names = zip(before.plan.overhaul["machine"], after.plan.overhaul["machine"], strict=True)
    return {str(was): str(now) for was, now in names if was != now}


def _in_frame(frame: pd.DataFrame, names: dict[str, str], pairs: Pairs) -> pd.DataFrame:
    if "machine" not in frame:
        return frame
    machine = fold_column(frame["machine"])
    told = {"machine": _respelt(frame["machine"], names)}
    if "clearance" in frame:
        clearance = fold_column(frame["clearance"])
        keys = pd.MultiIndex.from_arrays([machine, clearance])
        known = pd.Series([pairs.get(key) for key in keys], index=frame.index, dtype="object")
        told["clearance"] = known.where(known.notna(), frame["clearance"])
    return frame.assign(**told)


def _respelt(column: pd.Series, names: dict[str, str]) -> pd.Series:
    known = fold_column(column).map(names)
    return known.where(known.notna(), column).astype("object")
