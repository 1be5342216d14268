"""Combined uncertainties against the guide's own example and arithmetic by hand."""

from __future__ import annotations

import pytest

from trendwear.derived.quadrature import in_quadrature, weakest


def test_the_guides_example_of_an_end_gauge() -> None:
    # JCGM 100:2008, H.1.4 (figures from memory): 25, 9.7, 2.9 and 16.6 nm make 32 nm.
    assert round(in_quadrature(25.0, 9.7, 2.9, 16.6)) == 32


def test_a_combined_uncertainty_rests_on_its_weakest_part() -> None:
    assert weakest("stated", "method") == "method"
    assert weakest("method", "starting value", "stated") == "starting value"
    assert weakest("written resolution", "starting value") == "written resolution"
    with pytest.raises(ValueError, match="not in"):
        weakest("guessed")
