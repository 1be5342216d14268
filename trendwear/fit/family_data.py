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

from trendwear.segments.fitted import last_fitted
from trendwear.segments.histories import Histories
from trendwear.segments.positions import OWN, PARTNER
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
    other = _another_part(segments, cut.work) | _after_change(segments, cut, events)
    first = ~segments["position"].duplicated()
    era = (other & ~first).groupby(segments["position"]).cumsum()
    age_starts = _starts_at(cut, segments, "age_from")
    begin_starts = _starts_at(cut, segments, "start_hours") - age_starts
    return segments.assign(era=era, age_starts=age_starts, start_starts=begin_starts)


def _another_part(segments: pd.DataFrame, work: pd.DataFrame) -> pd.Series:
    """Whether a segment runs with another part number or supplier than the ones before it.

    Of the clearance's own part, or of the part it runs against; both must be named.
    """
    other = pd.Series(data=False, index=segments.index)
    for role in (OWN, PARTNER):
        put = last_fitted(work, role)
        for name in ("part_no", "supplier"):
            told = put.assign(told=fold_column(put[f"fitted_{name}"])).dropna(subset="told")
            if told.empty:
                continue
            is_in = _at_start(segments, told)
            before = is_in.groupby(segments["position"]).shift()
            other |= is_in.notna() & before.notna() & (is_in != before)
    return other


def _at_start(segments: pd.DataFrame, told: pd.DataFrame) -> pd.Series:
    """What was told last of the part that is in when each segment starts."""
    starts = segments[["position", "start_order"]].dropna().rename(columns={"start_order": "order"})
    starts = starts.assign(place=starts.index).sort_values("order", kind="stable")
    told = told[["position", "order", "told"]].sort_values("order", kind="stable")
    found = pd.merge_asof(starts, told, on="order", by="position")
    return found.set_index("place")["told"].reindex(segments.index)


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
