"""Limits that rules of thumb propose for clearances without one; a person accepts them or not."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import pandas as pd

from trendwear.rules_of_thumb.rules import LIMIT, MINIMUM, Asked, Given, rules_for

__all__ = ["PROPOSED_SOURCE", "Proposal", "as_sheet", "proposals"]

PROPOSED_SOURCE: Final = "proposed by a rule of thumb"
"""How the source of a proposed limit begins, until a person puts another in its place."""

_SHEET: Final = (
    *("machine", "clearance", "kind", "basis", "moves", "unit", "limit", "limit_from"),
    *("limit_source", "limit_status", "diameter", "diameter_unit"),
)


@dataclass(frozen=True)
class Proposal:
    """One clearance without an accepted limit, what each rule gives, and what is proposed."""

    row: Mapping[str, Any]
    """Its register row: ``machine``, ``clearance``, ``kind``, ``basis``, ``moves``, ``unit`` …"""
    given: tuple[Given, ...]
    proposed: Given | None
    """The strictest rule that gives a limit; None where no rule does."""
    why_none: str
    """Why nothing is proposed; empty where something is."""

    @property
    def standing(self) -> str:
        """What stands in the register as proposed already, with its source; else empty."""
        row = self.row
        return "" if pd.isna(row["limit_said"]) else f"{row['limit_said']} ({row['limit_source']})"


def proposals(register: pd.DataFrame) -> list[Proposal]:
    """Return one proposal for each register row that has no accepted limit.

    Parameters
    ----------
    register : DataFrame
        Register rows that hold: ``machine``, ``clearance``, ``kind``, ``basis``, ``moves``,
        ``unit``, ``limit_from``, ``limit_source``, ``limit_said`` (a limit that is only
        proposed, with its unit), ``design`` (as built, in ``unit``), ``diameter``,
        ``diameter_unit``.
    """
    return [_proposal(row) for row in register.to_dict("records")]


def _proposal(row: Mapping[Any, Any]) -> Proposal:
    asked = Asked(
        kind=str(row["kind"]),
        basis=str(row["basis"]),
        diameter=float(row["diameter"]),
        diameter_unit=row["diameter_unit"] if isinstance(row["diameter_unit"], str) else None,
        as_built=float(row["design"]),
        unit=str(row["unit"]),
    )
    given = rules_for(asked)
    if math.isnan(asked.as_built):
        given += _upon_the_minimum(asked, given)
    limits = [rule for rule in given if rule.role == LIMIT]
    why = _why_none(row, asked, given)
    proposed = None if why or not limits else min(limits, key=lambda rule: rule.low)
    return Proposal(dict(row), tuple(given), proposed, why)


def _upon_the_minimum(asked: Asked, given: list[Given]) -> Iterator[Given]:
    """What the rules of renewal give upon the least a standard allows, where no design is known."""
    least = [rule for rule in given if rule.role == MINIMUM]
    if least:
        first = least[0]
        built = replace(asked, as_built=first.low, unit=first.unit)
        for rule in rules_for(built):
            if rule.role == LIMIT:
                told = f"reckoned on the minimum of {first.rule}, as the design is not known"
                yield replace(rule, note="; ".join(part for part in (rule.note, told) if part))


def _why_none(row: Mapping[Any, Any], asked: Asked, given: list[Given]) -> str:
    if not given and asked.diameter_unit is None:
        return "no rule of thumb for this kind, or it needs the diameter"
    if not given:
        return "no rule of thumb for this kind and diameter: take it from the manual"
    if row["moves"] != "opens":
        return "the rules say how far a clearance may open, and this one closes"
    if not any(rule.role == LIMIT for rule in given):
        return "the rules say how it is built, and none how far it may wear"
    if asked.basis != "diametral":
        return f"the rules count diametral, and the register counts {asked.basis}"
    return ""


def as_sheet(told: list[Proposal]) -> pd.DataFrame:
    """Return the proposals as rows of a ``clearances`` sheet, each marked as proposed.

    Lengths have their own unit in the cell: nothing is converted.
    """
    rows = []
    for proposal in told:
        rule = proposal.proposed
        if rule is None:
            continue
        cells = {name: proposal.row.get(name) for name in _SHEET}
        limit = f"{rule.low:g} {rule.unit}"
        source = f"{PROPOSED_SOURCE}: {rule.rule} ({rule.source})"
        cells |= {"limit": limit, "limit_source": source, "limit_status": "proposed"}
        rows.append(cells)
    return pd.DataFrame(rows, columns=list(_SHEET))
