"""Every way of writing in `notations.tsv`, read as what it says or refused with its reason.

The notations are those met on inspection sheets of several trades, and what people write
beside them; what each should read as was set down by hand.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trendwear.readings.angle_lists import at_angles
from trendwear.readings.faults import Refusal
from trendwear.readings.notation import read_length
from trendwear.readings.value_words import word_known, work_named

LINES = [
    line.split("\t")
    for line in (Path(__file__).parent / "notations.tsv").read_text("utf-8").splitlines()
    if not line.startswith("# ")
]


def told(written: str) -> str:
    """Say how a text is read, in the words of the list; a refusal with its whole reason."""
    if work := work_named(written):
        return f"work {work}"
    if word_known(written):
        return "word"
    if angles := at_angles(written):
        return "at " + " ".join(f"{angle}={value}" for angle, value in angles)
    read = read_length(written)
    if isinstance(read, Refusal):
        return f"refused {read.reason} {read.instead}"
    if read.side == "worn through":
        return read.side
    if read.side:
        size = f"{read.side}{read.lower if read.side == '>' else read.upper:g}"
    elif read.upper > read.lower:
        size = f"{read.lower:.9g}..{read.upper:.9g}"
    else:
        size = f"{read.value:.9g}"
    return " ".join(part for part in (size, read.unit, read.basis) if part)


def test_the_list_is_long_and_says_each_once() -> None:
    assert len(LINES) >= 300
    assert len({written for written, _ in LINES}) == len(LINES)


@pytest.mark.parametrize(("written", "expected"), LINES)
def test_reads_as_the_list_says(written: str, expected: str) -> None:
    said = told(written)
    if expected.startswith("refused "):
        assert said.startswith("refused ")
        assert expected.removeprefix("refused ") in said
    else:
        assert said == expected


@given(st.sampled_from(LINES), st.sampled_from(["", " ", "\u00a0", "  "]))
def test_blanks_around_change_nothing(line: list[str], blank: str) -> None:
    assert told(blank + line[0] + blank) == told(line[0])


sides = st.lists(
    st.tuples(st.sampled_from("TBLR"), st.integers(0, 9999)), min_size=2, max_size=4,
    unique_by=lambda pair: pair[0],
)  # fmt: skip


@given(sides, st.sampled_from([" ", ", ", " / ", "; "]), st.sampled_from(["", " ", "=", ": "]))
def test_law_every_list_of_sides_reads_back(
    pairs: list[tuple[str, int]], apart: str, between: str
) -> None:
    written = apart.join(f"{side}{between}{number / 10}" for side, number in pairs)
    read = at_angles(written)
    assert read is not None
    assert [(side.upper(), float(text)) for side, text in read] == [
        (side, number / 10) for side, number in pairs
    ]


@given(st.integers(1, 9999), st.integers(0, 999), st.sampled_from([1, -1]))
def test_law_a_bore_less_its_journal(journal: int, gap: int, order: int) -> None:
    sizes = [f"journal {journal / 100:.2f}", f"bore {(journal + gap) / 100:.2f}"][::order]
    read = read_length(", ".join(sizes) + " mm")
    assert not isinstance(read, Refusal)
    assert read.value == pytest.approx(gap / 100)
    assert (read.unit, read.basis) == ("mm", "diametral")


@given(st.text(max_size=40) | st.text("TBLRVHNESW0123456789./,:°()' mil", max_size=20))
def test_law_no_text_breaks_the_list_of_angles(text: str) -> None:
    read = at_angles(text)
    assert read is None or (len(read) >= 2 and all(value.strip() for _, value in read))
