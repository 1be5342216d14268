"""How many usual slips are caught and rightly named, on simulated sites.

Machines are opened every few years; clearances are read as found and, where renewed or
looked at twice, as left.  Wear is gamma distributed, rates are log-normal within a
family, the gauge is better or worse than stated, and some renewals were never written
down.  Into one reading of fifty a slip is put: a factor of 2, 10, 25.4 or 1000 or its
inverse, or two positions of one opening swapped.  A slip can be seen where it is more
than four spreads from what the clean readings expect; a swap where both its readings are.

Run it with ``python tests/bench/trust_slips.py``; it takes about a minute.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.fit.family_fit import Given, fit_families
from trendwear.segments.chronicle import Record
from trendwear.segments.histories import Histories, histories
from trendwear.segments.positions import positions
from trendwear.trust.readings import check_readings

AS_OF = dt.date(2030, 1, 1)
SLIP_SHARE = 0.02
UNWRITTEN = 0.05
"""Share of the renewals that nobody wrote down."""
TIMES = (2.0, 0.5, 10.0, 0.1, 25.4, 1 / 25.4, 1000.0, 0.001)
SWAP_SHARE = 0.2
SIGHT = 4.0
MISSTATED = 1.25
STEP = 0.01
RINGS = 6


@dataclass(frozen=True)
class Site:
    """One kind of site."""

    machines: int
    in_a_class: int
    """Machines whose clearances of a kind make one family."""
    rate_cv: float
    interval_noise: float
    gauge: float
    """Standard uncertainty of a reading in mm; an interval wears 0.05 mm on average."""


SITES = (
    Site(24, 1, 0.3, 0.2, 0.01),
    Site(24, 4, 0.3, 0.2, 0.01),
    Site(24, 24, 0.3, 0.2, 0.01),
    Site(24, 1, 0.5, 0.4, 0.01),
    Site(24, 4, 0.5, 0.4, 0.01),
    Site(24, 24, 0.5, 0.4, 0.01),
    Site(24, 4, 0.3, 0.2, 0.003),
)


def register(site: Site) -> pd.DataFrame:
    """Six rings, two bearings and a thrust end play a machine."""
    names = [f"ring {n + 1}" for n in range(RINGS)] + ["bearing 1", "bearing 2", "end play"]
    kinds = ["carbon ring"] * RINGS + ["sleeve bearing"] * 2 + ["thrust end play"]
    rows = [
        {"machine": f"M{m:03d}", "clearance": name, "kind": kind}
        for m in range(site.machines)
        for name, kind in zip(names, kinds, strict=True)
    ]
    basis = {"thrust end play": "axial"}
    frame = pd.DataFrame(rows)
    return tables.conform(
        frame.assign(
            basis=frame["kind"].map(basis).fillna("diametral"),
            moves="opens",
            unit="mm",
            limit_mm=0.5,
            design_min_mm=0.2,
            design_max_mm=0.3,
            limiting=True,
        ),
        tables.CLEARANCES,
    )


def simulate(site: Site, seed: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Readings and work of a site, without slips."""
    draw = np.random.default_rng(seed)
    places = register(site)
    readings: list[dict[str, object]] = []
    work: list[dict[str, object]] = []
    true_u = {
        kind: site.gauge * MISSTATED ** draw.uniform(-1, 1) for kind in places["kind"].unique()
    }
    for machine, own in places.groupby("machine"):
        hours = np.cumsum(12_000 * draw.uniform(0.6, 1.4, draw.integers(3, 8)))
        for place in own.itertuples():
            sigma = np.sqrt(np.log1p(site.rate_cv**2))
            rate = 0.05 / 12_000 * np.exp(sigma * draw.standard_normal() - sigma**2 / 2)
            truth = draw.normal(0.25, 0.02)
            at = 0.0
            for opening, now in enumerate(hours):
                shape = (now - at) / 12_000 / site.interval_noise**2
                truth += draw.gamma(shape) * rate * 12_000 * site.interval_noise**2
                at = now
                row = {"machine": machine, "clearance": place.clearance, "run_hours": now}
                row["date"] = pd.Timestamp("2000-01-01") + pd.Timedelta(hours=round(now * 1.1))
                row["opening"] = f"{machine}-{opening}"
                u = true_u[place.kind]
                found = draw.normal(truth, u)
                readings.append(row | {"state": "as-found", "value_mm": found})
                renew = truth > 0.42 or draw.random() < 0.1
                if renew:
                    truth = draw.normal(0.25, 0.02)
                    if draw.random() > UNWRITTEN:
                        work.append(row | {"action": "renewed"})
                if renew or draw.random() < 0.3:
                    readings.append(row | {"state": "as-left", "value_mm": draw.normal(truth, u)})
    return _as_readings(pd.DataFrame(readings), site), pd.DataFrame(work)


def _as_readings(rows: pd.DataFrame, site: Site) -> pd.DataFrame:
    rows = rows.assign(
        reading=np.arange(len(rows)),
        value_mm=rows["value_mm"].round(2 if site.gauge >= STEP else 3),
        date=rows["date"].dt.floor("D").astype("datetime64[us]"),
        stated_mm=site.gauge,
        step_mm=STEP if site.gauge >= STEP else 0.001,
        unit="mm",
        basis=np.where(rows["clearance"] == "end play", "axial", "diametral"),
        at_least=False,
        excluded=False,
        file="simulated",
        row=np.arange(len(rows)),
        **dict.fromkeys(("half_width_mm", "date_spread_days", "hours_spread"), 0.0),
    )
    return tables.conform(rows, tables.READINGS)


def put_slips(readings: pd.DataFrame, seed: int) -> tuple[pd.DataFrame, pd.Series]:
    """Return the readings with slips, and by reading its factor.

    NaN where there is none; minus the other's number, and 1, where two are swapped.
    """
    draw = np.random.default_rng(seed)
    value = readings["value_mm"].to_numpy().copy()
    slip = np.full(len(value), np.nan)
    hit = np.nonzero(draw.random(len(value)) < SLIP_SHARE)[0]
    kind = readings["clearance"].str.split().str[0]
    alike = readings.groupby(["machine", kind, "opening", "state"]).ngroup().to_numpy()
    for row in hit:
        if not np.isnan(slip[row]):
            continue
        others = np.nonzero((alike == alike[row]) & np.isnan(slip))[0]
        others = others[others != row]
        if len(others) and draw.random() < SWAP_SHARE:
            other = draw.choice(others)
            value[[row, other]] = value[[other, row]]
            slip[[row, other]] = -1.0 - other, -1.0 - row
        else:
            slip[row] = draw.choice(TIMES)
            value[row] *= slip[row]
    return readings.assign(value_mm=value), pd.Series(slip, index=readings.index)


def check(site: Site, readings: pd.DataFrame, work: pd.DataFrame) -> pd.DataFrame:
    """Fit the site and check its readings; one row a reading of the store."""
    machines = pd.DataFrame({"machine": register(site)["machine"].unique()})
    group = machines.index // site.in_a_class
    machines = tables.conform(machines.assign(**{"class": group.astype(str)}), tables.MACHINES)
    places = positions(register(site), machines)
    zero = dict.fromkeys(("date_spread_days", "hours_spread"), 0.0)
    done = tables.conform(
        work.assign(row=range(len(work)), date=work["date"].dt.floor("D"), **zero), tables.WORK
    )
    record = Record(readings, done, tables.empty(tables.RUN_LOG))
    cut: Histories = histories(record, places, tables.empty(tables.METHODS), AS_OF)
    families = fit_families(cut, tables.empty(tables.EVENTS), Given({}, {}))
    told = check_readings(register(site), cut, families)
    return told.assign(reading=cut.points.loc[told["point"], "reading"].to_numpy())


def run_site(site: Site, seed: int) -> dict[str, float]:
    """Put slips into one simulated site and count what is found of them."""
    clean, work = simulate(site, seed)
    slipped, slip = put_slips(clean, seed + 1)
    honest = check(site, clean, work).set_index("reading")
    told = check(site, slipped, work).set_index("reading")
    slip.index = slipped["reading"]
    true = slip.reindex(told.index)
    value = slipped.set_index("reading")["value_mm"].reindex(told.index)
    honest = honest.reindex(told.index)
    away = (value - honest["expected_mm"]).abs() / honest["spread_mm"]
    swapped = true < 0
    other = (-1 - true).where(swapped)
    seen = (away > SIGHT) & (~swapped | (other.map(away) > SIGHT))
    partner = told["partner"].map(told.reset_index().set_index("point")["reading"])
    named = np.where(swapped, partner == other, np.isclose(told["factor"], true, rtol=1e-6))
    named &= told["flag"].to_numpy()
    by_factor, by_swap = seen & (true > 0), seen & swapped
    good = true.isna() & told["residual"].notna()
    return {
        "machines": site.machines,
        "in_a_class": site.in_a_class,
        "rate_cv": site.rate_cv,
        "interval": site.interval_noise,
        "gauge": site.gauge,
        "factors": int(by_factor.sum()),
        "caught": _share(told["flag"][by_factor]),
        "named": _share(named[by_factor.to_numpy()]),
        "swaps": int(by_swap.sum()),
        "swaps_caught": _share(told["flag"][by_swap]),
        "swaps_named": _share(named[by_swap.to_numpy()]),
        "good": int(good.sum()),
        "false": float(told["flag"][good].mean()),
        "false_clean": float(honest["flag"].mean()),
    }


def _share(flags: pd.Series) -> float:
    """Share of what is true; 0 of none, which then weighs nothing."""
    return float(flags.mean()) if len(flags) else 0.0


def run(seed: int = 20261101) -> pd.DataFrame:
    """All sites, a row each."""
    return pd.DataFrame(run_site(site, seed + 10 * n) for n, site in enumerate(SITES))


def summary(table: pd.DataFrame) -> dict[str, float]:
    """Shares over all slips that can be seen, and over all good readings."""
    slips = table["factors"] + table["swaps"]

    def both(name: str) -> float:
        hit = table["factors"] * table[name] + (table["swaps"] * table[f"swaps_{name}"])
        return float(hit.sum() / slips.sum())

    return {
        "slips": float(slips.sum()),
        "caught": both("caught"),
        "named right": both("named"),
        "factors named right": float(np.average(table["named"], weights=table["factors"])),
        "swaps named right": float(np.average(table["swaps_named"], weights=table["swaps"])),
        "false alarms": float(np.average(table["false"], weights=table["good"])),
        "false alarms without slips": float(
            np.average(table["false_clean"], weights=table["good"])
        ),
    }


def main() -> None:
    """Print the table and the means over all slips and readings."""
    table = run()
    print(table.to_string(index=False, float_format="{:.3f}".format))
    for name, share in summary(table).items():
        print(f"{name}: {share:.4f}")


if __name__ == "__main__":
    main()
