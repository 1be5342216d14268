"""What each rule of thumb gives for each clearance, side by side, for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

import pandas as pd

if TYPE_CHECKING:
    from trendwear.rules_of_thumb.proposals import Proposal
    from trendwear.rules_of_thumb.rules import Given

__all__ = ["proposal_lines"]

_WIDEST: Final = 110
_HOW: Final = (
    "Rules of thumb disagree, so they stand side by side. The maker's manual stands above all of "
    "them. A proposed limit counts as no limit until a person accepts it: in the sheet, write who "
    "says so and where in limit_source, accepted in limit_status, and load it."
)


def proposal_lines(told: list[Proposal], width: int) -> list[str]:
    """Return every clearance without an accepted limit with its rules, as lines."""
    width = min(width, _WIDEST)
    if not told:
        return ["Every clearance has an accepted limit."]
    lines = []
    for proposal in told:
        for depth, text in _said(proposal):
            lines += _wrapped(text, depth, width)
    return [*lines, "", *textwrap.wrap(_HOW, width)]


def _said(proposal: Proposal) -> Iterator[tuple[int, str]]:
    row = proposal.row
    yield 0, f"{row['machine']} / {row['clearance']} ({row['kind']}, {_diameter(proposal)})"
    if proposal.standing:
        yield 1, f"PROPOSED in the register, not accepted: {proposal.standing}"
    for rule in proposal.given:
        yield 1, _rule(rule)
    if proposal.proposed is None:
        yield 1, f"no proposal: {proposal.why_none}"
        return
    rule = proposal.proposed
    yield 1, f"PROPOSED limit: {rule.low:g} {rule.unit} ({rule.rule}), the strictest of these"


def _diameter(proposal: Proposal) -> str:
    row = proposal.row
    if pd.isna(row["diameter"]):
        return "diameter not known"
    return f"diameter {row['diameter']:g} {row['diameter_unit']}"


def _rule(rule: Given) -> str:
    size = f"{rule.low:g}" if rule.low == rule.high else f"{rule.low:g} to {rule.high:g}"
    note = f"; {rule.note}" if rule.note else ""
    return f"{size} {rule.unit} {rule.role}: {rule.rule}. {rule.source}, {rule.mark}{note}"


def _wrapped(text: str, depth: int, width: int) -> list[str]:
    indent = "  " * depth
    return textwrap.wrap(text, width, initial_indent=indent, subsequent_indent=indent + "    ")
