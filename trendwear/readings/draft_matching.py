"""Which spellings of one machine mean one position, with what speaks for it.

::

    spellings -> groups: the same kind, sides, numbers and unknown words
              -> groups split where two spellings stand in one opening
              -> a small group that lacks a word or a number of another: a person decides

Two spellings that stand in one opening are two positions, and so are two whose
numbers or sides differ.  Histories that join well are said, and decide nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import Enum
from typing import Final

from trendwear.readings.draft_kinds import Kind, kind_of
from trendwear.readings.draft_words import Wording, worded

__all__ = ["Match", "Spelling", "Sureness", "matches"]


_FLOAT: Final = frozenset({"float"})
"""The play with the shoes out, or another word for end play (NAVEDTRA 14150, ch. 2)."""


class Sureness(Enum):
    """How sure it is that a spelling means a position."""

    SURE = "sure: the same words, numbers and sides"
    LIKELY = "likely: look at the reason"
    OPEN = "a person must decide"


@dataclass(frozen=True)
class Spelling:
    """One name of one machine as the sheets write it."""

    name: str
    rows: int
    openings: frozenset[str]
    """The openings of the machine that it has readings in."""
    ends: tuple[tuple[int, str], ...] = ()
    """Its first and its last dated reading: the day as a number, and in words."""
    known: bool = False
    """Whether it is a position of the register."""
    site_rows: int = 0
    """Readings of all machines under that name: one name for like positions of a site."""
    wording: Wording = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "wording", worded(self.name))

    @property
    def kind(self) -> Kind | None:
        """The likely kind by the words."""
        return kind_of(self.wording.words)


@dataclass(frozen=True)
class Match:
    """What a spelling is taken for."""

    spelling: Spelling
    position: Spelling | None
    """The position that it means; itself where it is one; None where a person must decide."""
    sureness: Sureness
    candidates: tuple[Spelling, ...] = ()
    """Positions that it may mean, the likeliest first, where a person must decide."""
    why: str = ""


def matches(spellings: list[Spelling]) -> list[Match]:
    """Return what each spelling of one machine means; positions of the register first.

    Parameters
    ----------
    spellings
        All of one machine, those of the register included.
    """
    ranked = sorted(spellings, key=_rank)
    found: list[Match] = []
    for spelling in ranked:
        found.append(_match(spelling, found))
    return found


def _rank(one: Spelling) -> tuple[object, ...]:
    """Order spellings: those that may lend a position its name first."""
    vague = (one.kind is None, bool(one.wording.rest), not one.rows)
    shortened = len(one.wording.short) + len(one.wording.slips)
    # Of names about as usual the one in full words is the clearest.
    usual = (-one.site_rows.bit_length(), shortened, -one.site_rows, -one.rows)
    return not one.known, *vague, *usual, one.name


def _match(spelling: Spelling, found: list[Match]) -> Match:
    itself = Match(spelling, spelling, Sureness.SURE)
    if spelling.known:
        return itself
    heads = [one.spelling for one in found if one.position is one.spelling]
    fellows = {head.name: [one.spelling for one in found if one.position is head] for head in heads}
    apart = [head for head in heads if _together(spelling, fellows[head.name])]
    free = [head for head in heads if head not in apart]
    same = [head for head in free if _same(spelling, head)]
    if len(same) == 1 and not [head for head in apart if _same(spelling, head)]:
        words, others = spelling.wording, same[0].wording
        doubtful = words.slips or others.slips or words.place != others.place
        sureness = Sureness.LIKELY if doubtful else Sureness.SURE
        return Match(spelling, same[0], sureness, why=_reasons(spelling, same[0]))
    maybe = same or sorted(
        (head for head in free if _perhaps(spelling, head)),
        key=lambda head: -_in_common(spelling, head),
    )
    if not maybe:
        beside = [head.name for head in apart if _same(spelling, head)]
        why = f"in the same opening as {', '.join(beside)}: another place" if beside else ""
        return replace(itself, why=why)
    if len(same) > 1 or (same and apart):
        lead = "several positions of this machine are spelt alike; "
    else:
        lead = ""
    why = lead + "; ".join(f"{head.name}: {_reasons(spelling, head)}" for head in maybe[:3])
    return Match(spelling, None, Sureness.OPEN, tuple(maybe), why)


def _together(spelling: Spelling, fellows: list[Spelling]) -> bool:
    """Whether it stands in one opening with a spelling of that position."""
    return any(spelling.openings & fellow.openings for fellow in fellows)


def _same(one: Spelling, two: Spelling) -> bool:
    words, others = one.wording.words, two.wording.words
    if one.kind is None or two.kind is None:
        alike = words == others
    else:
        alike = one.kind.name == two.kind.name and not _FLOAT & (words ^ others)
    return alike and one.wording.place_of_slot == two.wording.place_of_slot


def _perhaps(one: Spelling, two: Spelling) -> bool:
    """Whether nothing keeps them apart and something joins them."""
    if one.wording.against(two.wording):
        return False
    if one.kind and two.kind:
        return one.kind.name == two.kind.name
    words, others = one.wording.words, two.wording.words
    return _in_common(one, two) > 0 and (not words or not others or bool(words & others))


def _in_common(one: Spelling, two: Spelling) -> int:
    """Return how many sides, numbers and trade words both names say."""
    numbers = {n for _, n in one.wording.numbers} & {n for _, n in two.wording.numbers}
    words = one.wording.words & two.wording.words
    return len(one.wording.sides & two.wording.sides) + len(numbers) + len(words)


def _reasons(one: Spelling, two: Spelling) -> str:
    said = [f"{short} read as {full}" for short, full in dict.fromkeys(
        (*one.wording.short, *two.wording.short)
    )]  # fmt: skip
    said += [f"{slip} taken for {full}" for slip, full in (*one.wording.slips, *two.wording.slips)]
    if one.wording.place != two.wording.place and _same(one, two):
        said.append("slots taken to be numbered as the rings in them")
    said += _lacking(one, two) + _lacking(two, one)
    if one.openings and two.openings:
        said.append("never in the same opening")
    return ", ".join([*said, *_joined(one, two)])


def _joined(one: Spelling, two: Spelling) -> list[str]:
    """Return how their histories meet, in words; it decides nothing."""
    if not (one.ends and two.ends):
        return []
    earlier, later = sorted((one, two), key=lambda spelling: spelling.ends[0][0])
    if earlier.ends[-1][0] < later.ends[0][0]:
        return [f"last {earlier.ends[-1][1]} → first {later.ends[0][1]}"]
    return [f"they take turns from {earlier.ends[0][1]} on"]


def _lacking(one: Spelling, two: Spelling) -> list[str]:
    """Return what only the first of two names says."""
    words, others = one.wording, two.wording
    numbers = {n for _, n in others.numbers}
    lacks = [side for side in sorted(words.sides - others.sides)]
    lacks += [" ".join((what or "number", n)) for what, n in words.numbers if n not in numbers]
    lacks += sorted(words.rest - others.rest)
    if not (one.kind and two.kind and one.kind.name == two.kind.name):
        lacks += sorted(words.words - others.words)
    return [f"only {one.name} says {' and '.join(lacks)}"] if lacks else []
