"""From histories to the arrays that the family model reads.

A rate belongs to a position *and* a part: segments before a recorded change of part go
in as a clearance of their own, one more member of the family.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.segments.histories import Histories
from trendwear.wear.exposure import Use
from trendwear.wear.histories import Histories as WearHistories
from trendwear.wording import fold_column

__all__ = ["CHANGES_WEAR", "FamilyData", "family_data"]

Floats = NDArray[np.float64]

SQRT3: Final = float(np.sqrt(3.0))
CHANGES_WEAR: Final = ("speed", "material", "alignment")
"""Words in an event that make wear before it another part's (common practice, no source)."""


@dataclass(frozen=True)
class FamilyData:
    """Arrays for the family model, and the way back.

    Attributes
    ----------
    histories : trendwear.wear.histories.Histories
    use : trendwear.wear.exposure.Use
    families : list of str
        Names of the families, in the order of their codes.
    member : DataFrame
        One row a member (clearance of the arrays): ``position``, ``era`` (0 for the first
        part, 1, …), ``current`` (whether it is the position's present part).
    rows : ndarray, shape (m,)
        Row of ``cut.points`` of each reading.
    exposure_error : ndarray, shape (m,)
        One standard deviation of each reading's hours.
    last : DataFrame
        By position: ``hours`` and ``starts`` since the age began, at the last reading
        (or known start) of the current segment; NaN where it has none.
    """

    histories: WearHistories
    use: Use
    families: list[str]
    member: pd.DataFrame
    rows: NDArray[np.int64]
    exposure_error: Floats
    last: pd.DataFrame


def family_data(cut: Histories, events: pd.DataFrame) -> FamilyData:
    """Lay out every fitted reading for the family model; exposure in hours since renewal."""
    segments = _segments(cut, events)
    segments = segments.assign(code=np.arange(len(segments)))
    points = cut.points[cut.points["fitted"] & ~cut.points["exact"]]
    key = ["position", "segment"]
    points = points[[*key, "hours", "starts", "worn_mm", "u_mm", "at_least", "u_from"]].join(
        points[["hours_error"]]
    )
    placed = points.merge(segments[[*key, "code", "age_from", "age_starts"]], on=key, how="left")
    placed.index = points.index
    placed = placed.sort_values(["code", "hours"], kind="stable")
    since = (placed["hours"] - placed["age_from"]).to_numpy()
    families = fold_column(cut.positions["family"])
    names = sorted(families.unique())
    member = segments.drop_duplicates(["position", "era"])[["position", "era"]]
    member = member.reset_index(drop=True)
    last_era = member.groupby("position")["era"].transform("max")
    member = member.assign(current=member["era"] == last_era)
    known = segments["known_start_mm"].to_numpy()
    begin = np.where(np.isnan(known), np.nan, segments["start_hours"] - segments["age_from"])
    begin_starts = np.where(np.isnan(known), np.nan, segments["start_starts"])
    code = placed["code"].to_numpy(dtype=np.int64)
    family = families.map({name: number for number, name in enumerate(names)})
    family_of_member = family.to_numpy(dtype=np.int64)[member["position"]]
    member_of_segment = segments.groupby(["position", "era"], sort=False).ngroup().to_numpy()
    assumed = pd.Series(placed["u_from"].eq("written resolution").to_numpy(dtype=float))
    share = assumed.groupby(family_of_member[member_of_segment[code]]).mean()
    return FamilyData(
        histories=WearHistories(
            value=placed["worn_mm"].to_numpy(dtype=float),
            exposure=since,
            uncertainty=placed["u_mm"].to_numpy(dtype=float),
            at_least=placed["at_least"].to_numpy(dtype=bool),
            segment=code,
            clearance=member_of_segment.astype(np.int64),
            start_value=known,
            start_exposure=begin,
            family=family_of_member,
            assumed_share=share.reindex(range(len(names)), fill_value=0.0).to_numpy(),
        ),
        use=Use(
            hours=since,
            starts=(placed["starts"] - placed["age_starts"]).to_numpy(dtype=float),
            begin_hours=begin,
            begin_starts=begin_starts,
            age_known=segments["age_known"].to_numpy(dtype=bool),
        ),
        families=names,
        member=member,
        rows=placed.index.to_numpy(dtype=np.int64),
        exposure_error=placed["hours_error"].to_numpy(dtype=float) / SQRT3,
        last=_last(placed, segments, cut),
    )


def _segments(cut: Histories, events: pd.DataFrame) -> pd.DataFrame:
    """Segments with the era of their part, and starts counted when their age began."""
    segments = cut.segments.sort_values(["position", "segment"]).reset_index(drop=True)
    work = cut.work.drop_duplicates(["position", "work_row"]).set_index(["position", "work_row"])
    key = pd.MultiIndex.from_frame(segments[["position", "work_row"]])
    fitted = {}
    for name in ("part_no", "supplier"):
        told = fold_column(work[name]).reindex(key).set_axis(segments.index)
        before = told.groupby(segments["position"]).ffill()
        earlier = before.groupby(segments["position"]).shift()
        fitted[name] = told.notna() & earlier.notna() & (told != earlier)
    other = fitted["part_no"] | fitted["supplier"] | _after_change(segments, cut, events)
    first = ~segments["position"].duplicated()
    era = (other & ~first).groupby(segments["position"]).cumsum()
    age_starts = _starts_at(cut, segments, "age_from")
    begin_starts = _starts_at(cut, segments, "start_hours") - age_starts
    return segments.assign(era=era, age_starts=age_starts, start_starts=begin_starts)


def _after_change(segments: pd.DataFrame, cut: Histories, events: pd.DataFrame) -> pd.Series:
    """Whether speed, material or alignment was changed between a segment and the one before."""
    changed = pd.Series(data=False, index=segments.index)
    told = events[events["what"].fillna("").str.contains("|".join(CHANGES_WEAR), case=False)]
    if told.empty:
        return changed
    machine = cut.positions["machine"].reindex(segments["position"]).set_axis(segments.index)
    order = segments["start_order"]
    before = order.groupby(segments["position"]).shift()
    day = (told["date"] - pd.Timestamp("1970-01-01")) / pd.Timedelta(days=1)
    for name, when in zip(told["machine"], day, strict=True):
        changed |= (machine == name) & (before < when) & (when <= order)
    return changed


def _starts_at(cut: Histories, segments: pd.DataFrame, column: str) -> pd.Series:
    """Starts counted by the hours in ``column``, between readings that state them."""
    out = pd.Series(np.nan, index=segments.index)
    machine = cut.positions["machine"].reindex(segments["position"]).set_axis(segments.index)
    for name, rows in segments.groupby(machine):
        counted = cut.chronicle.starts.get(str(name))
        if counted is not None:
            out[rows.index] = counted.at(rows[column].to_numpy(dtype=float))
    return out


def _last(placed: pd.DataFrame, segments: pd.DataFrame, cut: Histories) -> pd.DataFrame:
    """Where each position's current segment ends, in hours and starts since its age began."""
    current = segments.drop_duplicates("position", keep="last").set_index("position")
    ends = placed.drop_duplicates("code", keep="last").set_index("code")
    end = ends.reindex(current["code"]).set_index(current.index)
    known = current["known_start_mm"].notna()
    hours = (end["hours"] - end["age_from"]).fillna(
        (current["start_hours"] - current["age_from"]).where(known)
    )
    starts = (end["starts"] - end["age_starts"]).fillna(current["start_starts"].where(known))
    told = pd.DataFrame({"hours": hours, "starts": starts})
    return told.reindex(cut.positions.index)
