"""Which machine and which position of the register a row means."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from trendwear.store.entries import Entries
from trendwear.store.ledger import Ledger
from trendwear.store.tags import machine_keys, present_tags
from trendwear.wording import fold, fold_column

__all__ = [
    "Register",
    "known_only",
    "mapped_kinds",
    "read_register",
    "with_keys",
    "with_register_unit",
]

MACHINE_MISSING = "the machine"
POSITION_MISSING = "the position"
GOAL_MISSING = "the place its part went to"


@dataclass(frozen=True)
class Register:
    """The register as it stands during a load."""

    clearances: pd.DataFrame
    """Current rows; one or more for each position."""
    machines: frozenset[str]
    """Every machine, as it compares."""

    @property
    def positions(self) -> pd.DataFrame:
        """One row for each position: the one loaded last."""
        keys = ["machine_key", "clearance_key"]
        return self.clearances.sort_values("entry").drop_duplicates(keys, keep="last")

    def sets(self) -> pd.DataFrame:
        """Every name a `work` row may use for several positions: sets, partners and ``*``."""
        named = [self.clearances.dropna(subset=[column]) for column in ("set", "partner")]
        sets = pd.DataFrame(
            {
                "machine_key": pd.concat([rows["machine_key"] for rows in named]),
                "clearance_key": pd.concat(
                    [fold_column(named[0]["set"]), fold_column(named[1]["partner"])]
                ),
            }
        )
        everything = pd.DataFrame(
            {"machine_key": sorted(self.machines), "clearance_key": fold("*")}
        )
        return pd.concat([sets, everything]).drop_duplicates().astype("object")


def read_register(entries: Entries) -> Register:
    """Return the register as the store holds it now."""
    clearances = entries.current("clearances")
    machines = entries.current("machines")
    return Register(
        clearances, frozenset(machines["machine_key"]) | frozenset(clearances["machine_key"])
    )


def with_keys(rows: pd.DataFrame, register: Register, names: pd.DataFrame) -> pd.DataFrame:
    """Return rows with ``machine_key`` and, where they name one, ``clearance_key``.

    A position that the register knows is that position; else the ``names`` sheet is
    asked, for this machine first, then for all machines.  A former tag of a machine is
    that machine (`trendwear.store.tags`).
    """
    dates = rows.get("date")
    keyed = rows.assign(machine_key=machine_keys(rows["machine"], dates, names))
    if "clearance" not in rows:
        return keyed
    keyed = keyed.assign(
        clearance_key=_position_keys(keyed["machine_key"], rows["clearance"], register, names)
    )
    if "to_machine" not in rows:
        return keyed
    goal = machine_keys(rows["to_machine"], dates, names)
    there = goal.where(goal.notna(), keyed["machine_key"])
    place = _position_keys(there, rows["to_clearance"], register, names)
    renamed = place != fold_column(rows["to_clearance"])
    goals = pd.DataFrame({"machine": rows["to_machine"], "machine_key": goal})
    return keyed.assign(
        to_machine=present_tags(goals, names),
        to_machine_key=goal,
        to_clearance=rows["to_clearance"].mask(renamed & place.notna(), place),
        to_clearance_key=place,
    )


def _position_keys(
    machines: pd.Series, written: pd.Series, register: Register, names: pd.DataFrame
) -> pd.Series:
    folded = fold_column(written).astype("object")
    pairs = pd.DataFrame({"machine_key": machines, "clearance_key": folded})
    unknown = ~is_in(pairs, register.clearances)
    mapped = fold_column(_meant(pairs, names, "clearance"))
    return folded.where(~(unknown & mapped.notna()), mapped)


def mapped_kinds(rows: pd.DataFrame, names: pd.DataFrame) -> pd.DataFrame:
    """Return rows with each kind as the ``names`` sheet calls it."""
    pairs = pd.DataFrame(
        {"machine_key": fold_column(rows["machine"]), "clearance_key": fold_column(rows["kind"])}
    )
    meant = _meant(pairs.astype("object"), names, "kind")
    return rows.assign(kind=meant.where(meant.notna(), rows["kind"]))


def with_register_unit(rows: pd.DataFrame, register: Register, length: str) -> pd.DataFrame:
    """Return rows whose lengths have the unit of their clearance where they name none."""
    keys = ["machine_key", "clearance_key"]
    kept_in = rows[keys].merge(register.positions[[*keys, "unit"]], on=keys, how="left")["unit"]
    blank = rows[length].notna() & rows[f"{length}_unit"].isna() & rows["unit"].isna()
    return rows.assign(unit=rows["unit"].mask(blank, kept_in.set_axis(rows.index)))


def _meant(pairs: pd.DataFrame, names: pd.DataFrame, what: str) -> pd.Series:
    """Return what the ``names`` sheet says of spellings: for their machine, else for all."""
    rules = names.dropna(subset=[what])
    mapped = pd.Series(None, pairs.index, dtype="object")
    for own in (True, False):
        rule = rules[rules["machine_key"].notna() == own]
        mapped = mapped.where(mapped.notna(), _by_rules(pairs, rule, what))
    return mapped


def _by_rules(pairs: pd.DataFrame, rules: pd.DataFrame, what: str) -> pd.Series:
    """Look spellings up in rules that all name a machine, or all name none."""
    if rules.empty:
        return pd.Series(None, pairs.index, dtype="object")
    on = ["machine_key"] if rules["machine_key"].notna().all() else []
    asked = pd.MultiIndex.from_frame(pairs[[*on, "clearance_key"]])
    rules = rules.drop_duplicates([*on, "as_written_key"], keep="last")
    answers = rules[what].set_axis(pd.MultiIndex.from_frame(rules[[*on, "as_written_key"]]))
    return pd.Series(answers.reindex(asked).to_numpy(dtype="object"), pairs.index, dtype="object")


def is_in(rows: pd.DataFrame, known: pd.DataFrame) -> pd.Series:
    """Whether the machine and position of each row are among the known ones."""
    keys = ["machine_key", "clearance_key"]
    have = pd.MultiIndex.from_frame(known[keys].drop_duplicates().astype("object"))
    asked = pd.MultiIndex.from_frame(rows[keys].astype("object"))
    return pd.Series(asked.isin(have), rows.index)


def _goal_lost(rows: pd.DataFrame, known: pd.DataFrame) -> pd.Series:
    """Whether the register lacks the place that a part went to."""
    machine, place = rows["to_machine_key"], rows["to_clearance_key"]
    goals = pd.DataFrame(
        {
            "machine_key": machine.where(machine.notna(), rows["machine_key"]),
            "clearance_key": place.where(place.notna(), rows["clearance_key"]),
        }
    )
    return (machine.notna() | place.notna()) & ~is_in(goals, known)


def known_only(rows: pd.DataFrame, sheet: str, register: Register, ledger: Ledger) -> pd.DataFrame:
    """Return the rows whose machine and position the register knows; the others wait."""
    machine_known = rows["machine_key"].isin(register.machines)
    lacks = pd.Series(None, rows.index, dtype="object").mask(~machine_known, MACHINE_MISSING)
    if "clearance_key" in rows:
        known = register.clearances
        if sheet == "work":
            known = pd.concat([known[["machine_key", "clearance_key"]], register.sets()])
        position_lost = machine_known & ~is_in(rows, known)
        lacks = lacks.mask(position_lost, POSITION_MISSING)
        if sheet == "work":
            lacks = lacks.mask(lacks.isna() & _goal_lost(rows, known), GOAL_MISSING)
    if "lacks" in rows:
        lacks = rows["lacks"].where(rows["lacks"].notna() & lacks.notna(), lacks)
    ledger.touched |= set(rows["machine_key"])
    ledger.wait(rows[lacks.notna()].assign(lacks=lacks[lacks.notna()]), sheet)
    return rows[lacks.isna()]
