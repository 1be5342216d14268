"""Other cases: worked out beside the plan shown, kept in the store and opened again."""

from __future__ import annotations

from pathlib import Path

import source
import streamlit as st

from trendwear import other_cases
from trendwear.other_cases import KeptCase
from trendwear.planning.case_compare import Comparison
from trendwear.planning.case_over_time import BothOverTime, both_over_time
from trendwear.planning.cases import Case


def beside(asked: source.Asked, case: Case) -> list[Comparison]:
    """A case beside today's plan; one for each risk shown where nobody has chosen any."""
    return _supposed(source.store_path(), source.revision(), asked, case)


def over_time(asked: source.Asked, compared: Comparison, machine: str) -> BothOverTime:
    """How the chance of a passed limit rises for one machine, today and in the case."""
    return both_over_time(source.site_forecast(asked), compared, machine)


def kept() -> list[KeptCase]:
    """Every case that is kept."""
    return other_cases.kept_cases(source.store_path())


def opened(name: str) -> Case:
    """A kept case."""
    return other_cases.open_case(source.store_path(), name)


def keep(case: Case, by: str) -> str:
    """Keep a case; what was done, in a sentence."""
    return other_cases.keep_case(source.store_path(), case, by)


def delete(name: str, written_again: str, by: str) -> str:
    """Delete a kept case; what was done, in a sentence."""
    return other_cases.delete_case(source.store_path(), name, written_again, by)


# Nobody changes what it returns.
@st.cache_resource(max_entries=8, show_spinner="Working out the case …")
def _supposed(path: Path, stamp: str, asked: source.Asked, case: Case) -> list[Comparison]:
    told, plans = source.site_forecast(asked), source.plans(asked)
    return other_cases.suppose_beside(path, case, told, plans)
