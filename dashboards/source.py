"""What the pages show.  Nothing else here asks the clock, or the store.

Answers are kept until the store's file changes.
"""

from __future__ import annotations

import datetime
import os
from dataclasses import dataclass
from pathlib import Path

import pandas as pd
import streamlit as st

from trendwear import outlook
from trendwear.bench.expected import PlannedWork
from trendwear.bench.inspection import inspection
from trendwear.dashboard_server import STORE_VARIABLE
from trendwear.forecasting.family import FamilyView
from trendwear.forecasting.limit_forecast import LimitForecast
from trendwear.forecasting.site import SiteForecast
from trendwear.forecasting.trend import ClearanceTrend
from trendwear.hindsight.hindcast import Hindcast
from trendwear.parts.lives import part_lives
from trendwear.parts.sittings import sittings
from trendwear.planning.over_time import OverTime
from trendwear.planning.over_time import over_time as rising_chances
from trendwear.planning.override import OpenMachine, open_at
from trendwear.planning.plan import SitePlan, accepted_risks, plan_site
from trendwear.planning.site_plan import Placed, place_site
from trendwear.report.inspection.export import inspection_pdf
from trendwear.report.limit_table import natural_key
from trendwear.report.overhaul.export import plan_bytes
from trendwear.report.overhaul.printed import printed_for
from trendwear.store.history import signature
from trendwear.wording import fold, fold_column


def today() -> datetime.date:
    """The day on which the page is looked at."""
    return datetime.date.today()


def store_path() -> Path:
    """Where the store is."""
    return Path(os.environ.get(STORE_VARIABLE, "trendwear.duckdb"))


def limit_forecast(as_of: datetime.date, horizon_hours: float | None) -> LimitForecast:
    """The limit-forecast table of the whole store."""
    path = store_path()
    return _with_outages(path, _stamp(path), as_of, horizon_hours)


def clearance_trend(
    names: tuple[str, str], as_of: datetime.date, horizon_hours: float | None
) -> ClearanceTrend:
    """All that is known of one clearance: ``names`` are its machine's and its own."""
    return _look(as_of, horizon_hours).clearance_trend(*names)


def families(as_of: datetime.date, horizon_hours: float | None) -> list[str]:
    """The names of all families of like clearances, sorted as people count."""
    return sorted(_look(as_of, horizon_hours).families, key=natural_key)


def family(name: str, as_of: datetime.date, horizon_hours: float | None) -> FamilyView:
    """The members of one family side by side."""
    return _look(as_of, horizon_hours).family(name)


def lives(name: str, as_of: datetime.date, horizon_hours: float | None) -> pd.DataFrame:
    """Life and wear of a family's parts, by number and supplier."""
    told = part_lives(_look(as_of, horizon_hours))
    return told[fold_column(told["family"]) == fold(name)]


def sat_here(
    names: tuple[str, str], as_of: datetime.date, horizon_hours: float | None
) -> pd.DataFrame:
    """The parts that sit and sat in one clearance: ``names`` are its machine's and its own."""
    told = sittings(_look(as_of, horizon_hours))
    here = (told["machine"] == names[0]) & (told["clearance"] == names[1])
    return told[here]


def hindcast(as_of: datetime.date) -> Hindcast:
    """The record of past forecasts."""
    path = store_path()
    return _walked_through(path, _stamp(path), as_of)


@dataclass(frozen=True)
class Asked:
    """What a plan is asked for; ``risk`` in place of the risks sheet's where given."""

    as_of: datetime.date
    horizon_hours: float | None
    risk: float | None


def plans(asked: Asked) -> list[SitePlan]:
    """The site's plan; one for each risk shown where nobody has chosen any."""
    path = store_path()
    return _planned(path, _stamp(path), asked)


def risks(asked: Asked) -> pd.DataFrame:
    """Who accepted which risk, and when."""
    return _told(asked).site.planning.risks


def over_time(asked: Asked, machine: str) -> OverTime:
    """How the chance of a passed limit rises for one machine."""
    return rising_chances(_told(asked), plans(asked), machine)


def opened(asked: Asked, machine: str, outage: str) -> OpenMachine:
    """One machine as it will lie open in a window."""
    return open_at(_told(asked), plans(asked)[0], machine, outage)


def placed(asked: Asked) -> Placed:
    """The whole site's machines in its windows."""
    path = store_path()
    return _placed(path, _stamp(path), asked)


def plan_file(asked: Asked, suffix: str) -> bytes:
    """The plan of the whole site as the content of a file."""
    made = plans(asked)
    site = placed(asked) if len(made) == 1 and not made[0].windows.empty else None
    return plan_bytes(made, suffix, site, printed_for(Path(f"plan{suffix}"), _told(asked), made))


def bench_sheet(asked: Asked, machine: str) -> bytes:
    """The sheet for the bench of one machine, as a PDF."""
    made = plans(asked)
    planned = PlannedWork.out_of(made[0], machine) if len(made) == 1 else None
    return inspection_pdf(inspection(_told(asked), machine, planned))


def site_forecast(asked: Asked) -> SiteForecast:
    """The whole forecast that a plan is made from."""
    return _told(asked)


def revision() -> str:
    """Changes whenever the store does."""
    return str(_stamp(store_path()))


def _told(asked: Asked) -> SiteForecast:
    return _look(asked.as_of, asked.horizon_hours)


def _look(as_of: datetime.date, horizon_hours: float | None) -> SiteForecast:
    path = store_path()
    return _worked_out(path, _stamp(path), as_of, horizon_hours)


def _stamp(path: Path) -> object:
    # A store that is not there is for the outlook to report.
    return signature(path) if path.is_file() else ()


# One computation serves all pages and all who look; nobody changes what it returns.
@st.cache_resource(max_entries=4, show_spinner="Working out the forecast …")
def _worked_out(
    path: Path, stamp: object, as_of: datetime.date, horizon_hours: float | None
) -> SiteForecast:
    return outlook.look(path, as_of=as_of, horizon_hours=horizon_hours)


@st.cache_resource(max_entries=4, show_spinner=False)
def _with_outages(
    path: Path, stamp: object, as_of: datetime.date, horizon_hours: float | None
) -> LimitForecast:
    return outlook.limit_forecast(_look(as_of, horizon_hours))


@st.cache_resource(max_entries=2, show_spinner="Going through the past openings …")
def _walked_through(path: Path, stamp: object, as_of: datetime.date) -> Hindcast:
    return outlook.hindcast(path, as_of=as_of)


@st.cache_resource(max_entries=8, show_spinner="Planning the overhauls …")
def _planned(path: Path, stamp: object, asked: Asked) -> list[SitePlan]:
    told = _told(asked)
    return [plan_site(told, accepted) for accepted in accepted_risks(told, asked.risk)]


@st.cache_resource(max_entries=8, show_spinner="Placing the machines in the windows …")
def _placed(path: Path, stamp: object, asked: Asked) -> Placed:
    site = _told(asked).site
    return place_site(plans(asked)[0], site.machines, site.planning.outages)
