"""What the words of a position's name say."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trendwear.readings.draft_kinds import kind_of, said_basis
from trendwear.readings.draft_words import worded


@pytest.mark.parametrize(
    ("one", "two"),
    [
        ("IB brg", "Inboard bearing"),
        ("IB brg", "Brg, inbd"),
        ("I/B Bearing", "i.b. brg"),
        ("#1 brg", "Brg No. 01"),
        ("brg II", "bearing 2"),
        ("NDE brg", "Bearing, non-drive end"),
        ("Carbon ring 3, steam end", "Stm end 3rd carbon rg"),
        ("Stage 2 ring 1", "Ring 1, stage 2"),
        ("Thr. brg end play", "End play thrust bearing"),
        ("Wear ring clearance", "wear rings clr"),
    ],
)
def test_one_place_in_other_words(one, two):
    assert worded(one).place == worded(two).place
    assert worded(one).words == worded(two).words
    assert worded(one).against(worded(two)) is None


@pytest.mark.parametrize(
    ("one", "two", "why"),
    [
        ("slot 3", "slot 4", "slot 3 is not slot 4"),
        ("IB brg", "Outboard bearing", "inboard is not outboard"),
        ("steam end ring 1", "exh. ring 1", "steam end is not exhaust end"),
        ("Stage 1 ring 2", "Stage 2 ring 1", "stage 1 ring 2 is not stage 2 ring 1"),
        ("brg A", "brg B", "a is not b"),
        ("brg DE", "brg NDE", "drive end is not non-drive end"),
        ("#2 ring", "gland 1 ring 3", "number 2 is not gland 1 ring 3"),
        ("brg 1-2", "brg 2-1", "bearing 1 number 2 is not bearing 2 number 1"),
    ],
)
def test_two_places_are_kept_apart_for_good(one, two, why):
    assert worded(one).against(worded(two)) == why
    assert worded(two).against(worded(one)) is not None


@pytest.mark.parametrize(
    ("one", "two"),
    [("IB brg", "#1 brg"), ("ring 3", "gland 1 ring 3"), ("IB brg", "IB brg turbine")],
)
def test_what_one_name_leaves_out_neither_joins_nor_parts(one, two):
    assert worded(one).against(worded(two)) is None
    assert worded(one).place != worded(two).place


def test_a_slip_of_the_pen_in_a_long_word_is_read_and_told():
    assert worded("inbord bearng").slips == (("inbord", "inboard"), ("bearng", "bearing"))
    assert worded("inbord bearng").place == worded("IB brg").place
    assert worded("rung 3").slips == ()


@given(st.text(max_size=40))
def test_any_name_is_read_and_agrees_with_itself(name):
    read = worded(name)
    assert read.against(worded(name)) is None
    assert read.place == worded(name.upper().lower()).place or not name.isascii()


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("Journal clearance", "sleeve bearing"),
        ("IB brg", "sleeve bearing"),
        ("Thrust brg", "thrust end play"),
        ("end play", "thrust end play"),
        ("Thrust pad thk", "pad thickness"),
        ("carbon packing ring 2", "carbon ring"),
        ("HP laby", "labyrinth"),
        ("1st stage nozzle gap", "nozzle to blade gap"),
        ("impeller wear ring", "wear ring"),
        ("Balance bush", "balance bushing"),
        ("packing sleeve", "packing sleeve"),
    ],
)
def test_the_likely_kind(name, kind):
    found = kind_of(worded(name).words)
    assert found is not None and found.name == kind


@pytest.mark.parametrize("name", ["Gland ring 3", "ring", "valve stem", "brush", ""])
def test_where_the_words_do_not_say_the_kind_there_is_none(name):
    assert kind_of(worded(name).words) is None


def test_the_basis_is_that_of_a_word_and_never_of_the_kind():
    assert said_basis(worded("thrust end play").words) == "axial"
    assert said_basis(worded("IB brg, diam.").words) == "diametral"
    assert said_basis(worded("IB brg").words) is None
    assert said_basis(worded("radial or axial gap").words) is None
