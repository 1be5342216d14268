"""Former tags of machines: a machine that was renamed is one machine, under both tags.

A row of the ``names`` sheet with ``former_tag`` says that its machine bore the tag
``as_written`` before; ``until`` is the last day on which the tag meant that machine,
where another machine bears it since.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import pandas as pd

from trendwear.store.ledger import Fault, Ledger
from trendwear.wording import fold_column

__all__ = [
    "former_tags",
    "machine_keys",
    "present_tags",
    "refuse_renamed",
    "refuse_undated",
    "tag_faults",
    "tags_of",
]

LONGEST_CHAIN: Final = 9
"""A machine is not followed through more renamings than this."""


def former_tags(names: pd.DataFrame) -> pd.Series:
    """Return which rows of the ``names`` sheet tell a former tag."""
    return names["former_tag"].astype("boolean").fillna(value=False).astype(bool)


def tags_of(names: pd.DataFrame) -> pd.DataFrame:
    """Return the former tags that the ``names`` sheet tells.

    Returns
    -------
    DataFrame
        ``tag`` (as it compares), ``machine`` (its present tag), ``machine_key``,
        ``until`` (NaT: for ever); of one tag the earliest ``until`` first.
    """
    rows = names[former_tags(names)]
    rows = rows.rename(columns={"as_written_key": "tag"})
    return rows[["tag", "machine", "machine_key", "until"]].sort_values("until")


def machine_keys(machines: pd.Series, dates: pd.Series | None, names: pd.DataFrame) -> pd.Series:
    """Return the key of the machine that each tag means on its day.

    Parameters
    ----------
    machines : Series of str
        Tags as written.
    dates : Series of datetime or None
        The day of each row; where it is missing a tag with an ``until`` means the machine
        that bears it now.
    names : DataFrame
        The ``names`` sheet as it is stored.
    """
    keys = fold_column(machines).astype("object")
    tags = tags_of(names)
    for _ in range(min(len(tags), LONGEST_CHAIN)):
        told = keys.copy()
        for tag in tags.iloc[::-1].itertuples():  # the earliest `until` has the last word
            holds = pd.Series(data=True, index=keys.index)
            if pd.notna(tag.until):
                holds &= False if dates is None else dates < tag.until + pd.Timedelta(days=1)
            told = told.mask((keys == tag.tag) & holds, tag.machine_key)
        if told.equals(keys):
            break
        keys = told
    return keys


def present_tags(rows: pd.DataFrame, names: pd.DataFrame) -> pd.Series:
    """Return the tag that each row's machine bears now, as it is spelt in ``names``.

    ``rows`` have ``machine`` as written and ``machine_key``.
    """
    tags = tags_of(names).drop_duplicates("machine_key").set_index("machine_key")["machine"]
    renamed = rows["machine_key"] != fold_column(rows["machine"])
    return rows["machine"].mask(renamed, rows["machine_key"].map(tags))


def tag_faults(rows: pd.DataFrame) -> Iterator[tuple[pd.Series, Fault]]:
    """Yield rows of the ``names`` sheet that call something a former tag that cannot be one."""
    tag = former_tags(rows)
    yield (
        tag & rows["machine"].isna(),
        Fault("machine", "a former tag of which machine?", "Write the tag it bears now"),
    )
    yield (
        tag & (rows["clearance"].notna() | rows["kind"].notna()),
        Fault(
            "former_tag",
            "a former tag means a machine, not a position or a kind",
            "Leave clearance and kind blank, or former_tag",
        ),
    )
    yield (
        tag & (rows["machine_key"] == rows["as_written_key"]),
        Fault("as_written", "this is the tag it bears now", "Write the tag it bore before"),
    )
    yield (
        ~tag & rows["until"].notna(),
        Fault("until", "only a former tag ends on a day", "Write yes into former_tag"),
    )


def refuse_renamed(rows: pd.DataFrame, names: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    """Return register rows without those under a tag that is said to be a former one.

    Without ``until`` the tag means another machine for ever, and cannot be used again.
    """
    tags = tags_of(names)
    for_ever = tags[tags["until"].isna()].drop_duplicates("tag").set_index("tag")["machine"]
    now = fold_column(rows["machine"]).map(for_ever).astype("object")
    return ledger.keep_good(
        rows,
        now.notna(),
        Fault(
            "machine",
            "the sheet names says that this is a former tag of " + now.fillna(""),
            "Use the present tag; where another machine bears the old one now, give in names "
            "the day until which it meant the former",
        ),
    )


def refuse_undated(rows: pd.DataFrame, names: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    """Return rows without those of which nobody can say which machine their tag means."""
    if "date" not in rows:
        return rows
    tags = tags_of(names)
    again = tags.loc[tags["until"].notna(), "tag"]
    unclear = fold_column(rows["machine"]).isin(set(again)) & rows["date"].isna()
    return ledger.keep_good(
        rows,
        unclear,
        Fault(
            "date",
            "this tag meant another machine once, and the row does not say when it was written",
            "Write the date, or the tag that the machine bears now",
        ),
    )
