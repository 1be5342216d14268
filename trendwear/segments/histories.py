"""Every clearance's history: its readings as the trend takes them, and its segments."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd

from trendwear.segments.chronicle import Chronicle, Record, chronicle
from trendwear.segments.cutting import RESTARTS_AGE, Job, Mark, Segment, Visit, cut
from trendwear.segments.fitted import with_parts
from trendwear.segments.openings import NO_OPENING
from trendwear.segments.positions import work_by_clearance
from trendwear.segments.trend_readings import (
    left_aside,
    standard_uncertainty,
    to_register_basis,
    trend_readings,
)

__all__ = ["Histories", "histories"]


@dataclass(frozen=True)
class Histories:
    """What is known of every clearance as of a day.

    Attributes
    ----------
    positions : DataFrame
        As `trendwear.segments.positions.positions`; the index numbers the clearances.
    points : DataFrame
        One row a trend reading: ``position`` (row of ``positions``), ``segment``
        (1, 2, …; 0: none), ``hours``, ``worn_mm`` (rises with wear, counted after the
        segment's last shim), ``u_mm``, ``hours_error``, ``fitted``, ``at_least``,
        ``exact``, ``remark``, ``value_mm``, ``state``, ``several``, ``u_from`` and the
        reading's own columns; in order of time within a segment.
    segments : DataFrame
        ``position``, ``segment``, ``cause``, ``start_hours``, ``start_order``,
        ``age_from``, ``known_start_mm`` (worn), ``work_row``, ``readings``,
        ``age_known`` (the age began at recorded work or a known start).
    work : DataFrame
        Work spread over clearances, with ``position``, ``hours``, ``work_row``, and the
        parts it put in (`trendwear.segments.fitted.with_parts`).
    chronicle : Chronicle
        Hours, openings and hour lines of the machines.
    """

    positions: pd.DataFrame
    points: pd.DataFrame
    segments: pd.DataFrame
    work: pd.DataFrame
    chronicle: Chronicle


def histories(
    record: Record,
    positions: pd.DataFrame,
    methods: pd.DataFrame,
    as_of: dt.date,
    duty_plan: pd.DataFrame | None = None,
) -> Histories:
    """Cut the history of every clearance from the rows dated on or before ``as_of``.

    ``duty_plan`` gives hours to what is dated after a machine's last stated hours; without
    one its own record does.
    """
    told = chronicle(record, as_of, duty_plan)
    points = _points(told, positions, methods)
    work = work_by_clearance(told.work, positions)
    work = work.merge(_numbered(positions), how="inner", on=["machine", "clearance"])
    work = work.sort_values(["position", "order"], kind="stable").reset_index(drop=True)
    work = with_parts(work)
    points, segments = _cut_all(points, work, positions)
    return Histories(positions, points, segments, work, told)


def _numbered(positions: pd.DataFrame) -> pd.DataFrame:
    return positions[["machine", "clearance"]].assign(position=positions.index)


def _points(told: Chronicle, positions: pd.DataFrame, methods: pd.DataFrame) -> pd.DataFrame:
    """The readings the trend takes, each with its place and sign."""
    usual = positions[["machine", "clearance", "register_basis", "sign", "takes", "method"]]
    usual = usual.assign(position=positions.index)
    readings = told.readings.merge(
        usual, how="inner", on=["machine", "clearance"], suffixes=("", "_usual")
    )
    readings["method"] = readings["method"].fillna(readings.pop("method_usual"))
    aside = left_aside(readings[readings["excluded"]], methods)
    readings = standard_uncertainty(readings[~readings["excluded"]], methods)
    readings = to_register_basis(readings)
    readings = trend_readings(readings.drop(columns="takes"), positions)
    if len(aside):
        readings = pd.concat([readings, aside[readings.columns]], ignore_index=True)
    readings = readings.assign(worn_mm=readings["value_mm"] * readings["sign"])
    readings = readings.sort_values(["position", "order", "reading"], kind="stable")
    return readings.reset_index(drop=True)


def _cut_all(
    points: pd.DataFrame, work: pd.DataFrame, positions: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Cut every history; return the points with their segments, and the segments."""
    marks = _marks(points)
    jobs = _jobs(work, positions)
    # Readings a person excluded are drawn, and neither begin nor end a segment.
    counted = np.flatnonzero(~points["excluded"].to_numpy())
    marks_of = {
        position: counted[rows]
        for position, rows in points["position"]
        .iloc[counted]
        .groupby(points["position"])
        .indices.items()
    }
    jobs_of = work.groupby("position").indices
    both_ways = positions["both_ways"].to_numpy()
    place = points[["opening_no", "order", "hours"]].to_numpy(dtype=float)
    job_place = work[["opening_no", "order", "hours"]].to_numpy(dtype=float)
    segment_rows = []
    number = np.zeros(len(points), dtype="int64")
    for position in positions.index:
        visits = _visits(
            [(place[row], marks[row]) for row in marks_of.get(position, ())],
            [(job_place[row], jobs[row]) for row in jobs_of.get(position, ())],
        )
        segments = cut(visits, both_ways=bool(both_ways[position]))
        for count, segment in enumerate(segments, start=1):
            segment_rows.append(_segment_row(position, count, segment))
            for mark in segment.marks:
                number[mark.row] = count
    points = points.assign(
        segment=number,
        worn_mm=[mark.level_mm for mark in marks],
        fitted=np.array([mark.fitted for mark in marks], dtype=bool),
        exact=np.array([mark.exact for mark in marks], dtype=bool),
        remark=pd.Series(_remarks(points["remark"], marks), index=points.index, dtype="object"),
    )
    return points, _segment_frame(segment_rows)


def _marks(points: pd.DataFrame) -> list[Mark]:
    columns = ["state", "worn_mm", "u_mm", "hours", "method", "bias_mm", "surface", "at_least"]
    values = zip(*(points[name].tolist() for name in columns), strict=True)
    return [Mark(row, *value) for row, value in enumerate(values)]


def _jobs(work: pd.DataFrame, positions: pd.DataFrame) -> list[Job]:
    sign = work["position"].map(positions["sign"]).astype("float64")
    amount = (work["amount_mm"] * sign).tolist()
    rows, actions = work["work_row"].tolist(), work["action"].tolist()
    return [Job(*parts) for parts in zip(rows, actions, amount, strict=True)]


def _visits(
    marks: list[tuple[np.ndarray, Mark]], jobs: list[tuple[np.ndarray, Job]]
) -> Iterator[Visit]:
    """Gather what belongs to one opening; a check is a visit of its own."""
    gathered: dict[float, tuple[list[np.ndarray], list[Mark], list[Job]]] = {}
    for place, mark in marks:
        if place[0] == NO_OPENING:
            yield Visit(place[1], place[2], (mark,))
        else:
            _, seen, _ = gathered.setdefault(place[0], ([place], [], []))
            seen.append(mark)
    for place, job in jobs:
        places, _, done = gathered.setdefault(place[0], ([], [], []))
        places.append(place)
        done.append(job)
    for places, seen, done in gathered.values():
        order = min(place[1] for place in places)
        hours = np.fmin.reduce([place[2] for place in places])
        yield Visit(float(order), float(hours), tuple(seen), tuple(done))


def _segment_row(position: int, number: int, segment: Segment) -> dict[str, object]:
    return {
        "position": position,
        "segment": number,
        "cause": segment.cause,
        "start_hours": segment.start_hours,
        "start_order": segment.start_order,
        "age_from": segment.age_from,
        "known_start_mm": segment.known_start_mm,
        "work_row": segment.work_row,
        "readings": len(segment.marks) - int(np.isfinite(segment.known_start_mm)),
    }


def _segment_frame(rows: list[dict[str, object]]) -> pd.DataFrame:
    names = ["position", "segment", "cause", "start_hours", "start_order", "age_from"]
    names += ["known_start_mm", "work_row", "readings"]
    frame = pd.DataFrame(rows, columns=names)
    numbers = ["start_hours", "start_order", "age_from", "known_start_mm"]
    frame = frame.astype({"position": "int64", "segment": "int64", "readings": "int64"})
    frame[numbers] = frame[numbers].astype("float64")
    began = frame["cause"].isin(RESTARTS_AGE) | frame["known_start_mm"].notna()
    # Until work restarts it, a clearance carries on the age of its segment before.
    return frame.assign(age_known=began.groupby(frame["position"]).cummax())


def _remarks(before: pd.Series, marks: list[Mark]) -> list[str | None]:
    """What was done to a reading on its way, and why it is not fitted."""
    said = []
    for first, mark in zip(before, marks, strict=True):
        words = [word for word in (first, mark.remark) if isinstance(word, str)]
        said.append("; ".join(words) or None)
    return said
