"""From a frame that names clearances, segments and families to the codes of `Histories`."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from trendwear.wear.histories import Codes, Flags, Floats, Histories

__all__ = ["Groups", "code_groups"]


@dataclass(frozen=True)
class Groups:
    """Codes of readings in the order they were given, and the names behind the codes."""

    segment: Codes
    """(m,) of each reading."""
    at_least: Flags
    """(m,)."""
    clearance: Codes
    """(S,) of each segment."""
    start_value: Floats
    start_exposure: Floats
    family: Codes
    """(n,) of each clearance."""
    clearances: pd.Index
    families: pd.Index

    def histories(self, value: Floats, exposure: Floats, uncertainty: Floats) -> Histories:
        """Sort the readings by segment and exposure."""
        order = np.lexsort((exposure, self.segment))
        return Histories(
            value=value[order],
            exposure=exposure[order],
            uncertainty=uncertainty[order],
            at_least=self.at_least[order],
            segment=self.segment[order],
            clearance=self.clearance,
            start_value=self.start_value,
            start_exposure=self.start_exposure,
            family=self.family,
            assumed_share=np.zeros(len(self.families)),
        )


def code_groups(groups: pd.DataFrame, starts: pd.DataFrame | None) -> Groups:
    """Number clearances, families and segments in the order of their appearance.

    Parameters
    ----------
    groups : DataFrame
        A row for each reading: ``clearance`` and optionally ``segment``, ``family``,
        ``at_least``.
    starts : DataFrame or None
        Exactly known starts: ``clearance``, ``segment`` (where groups have it),
        ``value``, ``exposure``.  A segment may have a start and no reading.

    Raises
    ------
    ValueError
        A clearance of no or of two families, or two starts of one segment.
    """
    if "clearance" not in groups:
        raise ValueError("groups need a column 'clearance' that names each reading's clearance")
    known = pd.DataFrame(columns=["clearance", "value", "exposure"]) if starts is None else starts
    keys = [name for name in ("clearance", "segment") if name in groups]
    pairs = [tuple(row) for row in groups[keys].to_numpy()]
    pairs += [tuple(row) for row in known[keys].to_numpy()] if len(known) else []
    # tuples as objects: factorize takes them whole
    whole = np.empty(len(pairs), dtype=object)
    whole[:] = pairs
    appeared, met = pd.factorize(whole)
    owner, clearances = pd.factorize(np.array([pair[0] for pair in met], dtype=object))
    order = np.argsort(owner, kind="stable")
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    segment = place[appeared]
    readings, at_start = segment[: len(groups)], segment[len(groups) :]
    if len(np.unique(at_start)) < len(at_start):
        raise ValueError("starts name one segment twice; give one exact start for each")
    start_value, start_exposure = np.full((2, len(order)), np.nan)
    start_value[at_start] = known["value"].astype(np.float64)
    start_exposure[at_start] = known["exposure"].astype(np.float64)
    family, families = _families(groups, owner[order][readings], len(clearances))
    at_least = groups.get("at_least", np.zeros(len(groups)))
    return Groups(
        segment=readings,
        at_least=np.asarray(at_least, dtype=bool),
        clearance=owner[order].astype(np.int64),
        start_value=start_value,
        start_exposure=start_exposure,
        family=family,
        clearances=pd.Index(clearances, name="clearance"),
        families=families,
    )


def _families(groups: pd.DataFrame, clearance: Codes, count: int) -> tuple[Codes, pd.Index]:
    named = groups["family"] if "family" in groups else pd.Series("all", groups.index)
    code, families = pd.factorize(named)
    if np.any(code < 0):
        raise ValueError("a reading names no family; give one or leave the column out")
    of_clearance = np.full(count, -1, dtype=np.int64)
    of_clearance[clearance] = code
    if np.any(of_clearance < 0):
        raise ValueError("a known start names a clearance without a reading: its family is unknown")
    if np.any(of_clearance[clearance] != code):
        raise ValueError("a clearance is named in two families; it belongs to one")
    return of_clearance, pd.Index(families, name="family")
