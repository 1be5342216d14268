"""Which spellings of a machine are taken for one position."""

from __future__ import annotations

from trendwear.readings.draft_matching import Spelling, Sureness, matches


def spelt(name, *openings, rows=3, ends=(), known=False):
    return Spelling(name, rows, frozenset(openings), ends, known, site_rows=rows)


def found(*spellings):
    """Each spelling to its position's name; None where a person must decide."""
    return {
        one.spelling.name: one.position.name if one.position else None
        for one in matches(list(spellings))
    }


def test_three_ways_to_write_one_position_are_one():
    said = found(
        spelt("Inboard bearing", "1"), spelt("IB brg", "2", rows=2), spelt("Brg inbd", "3", rows=2)
    )
    assert said == dict.fromkeys(("Inboard bearing", "IB brg", "Brg inbd"), "Inboard bearing")


def test_two_spellings_of_one_opening_are_two_positions_whatever_the_words():
    (one, two) = matches([spelt("IB brg", "1", "2", rows=9), spelt("Brg inbd", "2")])
    assert one.position is one.spelling
    assert two.position is two.spelling
    assert two.why == "in the same opening as IB brg: another place"


def test_neither_a_number_nor_a_side_is_ever_crossed():
    said = found(
        spelt("slot 3 ring", "1"),
        spelt("slot 4 ring", "2"),
        spelt("IB brg", "3"),
        spelt("OB brg", "4"),
    )
    assert all(name == position for name, position in said.items())


def test_a_number_for_a_side_is_left_to_a_person_with_both_candidates():
    *_, last = matches(
        [spelt("IB brg", "1", rows=9), spelt("OB brg", "1", rows=8), spelt("#1 brg", "2")]
    )
    assert last.position is None
    assert last.sureness is Sureness.OPEN
    assert {one.name for one in last.candidates} == {"IB brg", "OB brg"}
    assert "only #1 brg says number 1" in last.why
    assert "never in the same opening" in last.why


def test_a_candidate_of_the_same_opening_is_none():
    *_, last = matches(
        [spelt("IB brg", "1", "2", rows=9), spelt("OB brg", "1", rows=8), spelt("#1 brg", "2")]
    )
    assert [one.name for one in last.candidates] == ["OB brg"]


def test_histories_that_join_well_are_said_and_decide_nothing():
    early = spelt("IB brg", "1", rows=9, ends=((1, "6 mil (2001-01-01)"), (9, "7.1 mil (2009)")))
    late = spelt("bearing", "2", ends=((20, "7.2 mil (2012)"), (30, "8 mil (2015)")))
    (_, open_one) = matches([early, late])
    assert open_one.position is None
    assert "last 7.1 mil (2009) → first 7.2 mil (2012)" in open_one.why
    mixed = spelt("bearing", "2", ends=((5, "7 mil (2005)"), (30, "8 mil (2015)")))
    assert "they take turns" in matches([early, mixed])[1].why


def test_a_slot_is_taken_for_its_ring_with_a_reason_to_look_at():
    (_, ring) = matches([spelt("Carbon ring slot 2", "1", rows=5), spelt("carbon ring 2", "2")])
    assert ring.position is not None
    assert ring.sureness is Sureness.LIKELY
    assert "slots taken to be numbered as the rings in them" in ring.why


def test_a_slip_of_the_pen_is_likely_and_equal_words_are_sure():
    sureness = {
        one.spelling.name: one.sureness
        for one in matches(
            [spelt("Inboard bearing", "1", rows=9), spelt("Inbord bearing", "2"), spelt("IB brg")]
        )
    }
    assert sureness["Inbord bearing"] is Sureness.LIKELY
    assert sureness["IB brg"] is Sureness.SURE


def test_float_may_be_another_reading_than_end_play():
    (_, floating) = matches([spelt("Thrust end play", "1", rows=9), spelt("Thrust float", "2")])
    assert floating.position is None


def test_the_suppliers_word_for_a_ring_may_be_that_ring_and_not_a_bearing_of_that_number():
    *_, last = matches(
        [spelt("Carbon ring 3", "1", rows=9), spelt("Brg 3", "1", rows=9), spelt("Gland ring 3")]
    )
    assert [one.name for one in last.candidates] == ["Carbon ring 3"]


def test_a_position_of_the_register_gives_its_name_however_few_its_readings():
    said = found(spelt("Brg inbd", "1", rows=1, known=True), spelt("Inboard bearing", "2", rows=99))
    assert said["Inboard bearing"] == "Brg inbd"


def test_a_spelling_of_two_like_positions_is_for_a_person():
    *_, last = matches(
        [spelt("IB brg", "1", rows=9), spelt("Brg IB", "1", rows=8), spelt("inboard brg", "2")]
    )
    assert last.position is None
    assert last.why.startswith("several positions of this machine are spelt alike")


def test_one_that_joined_keeps_others_of_its_openings_out():
    said = found(
        spelt("Inboard bearing", "1", rows=9),
        spelt("IB brg", "2", rows=8),
        spelt("Brg inbd", "2", rows=7),
    )
    assert said["IB brg"] == "Inboard bearing"
    assert said["Brg inbd"] == "Brg inbd"
