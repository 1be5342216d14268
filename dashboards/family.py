"""A family of like clearances side by side: which one wears faster than its sisters."""

from __future__ import annotations

import pandas as pd
import source
import streamlit as st
from links import fresh, heed_link, keep, lead_to
from plain import plain
from units import choose_unit

from trendwear.forecasting.family import FamilyView
from trendwear.report.family_chart import PICKED, family_chart
from trendwear.report.family_words import family_table, family_words
from trendwear.report.parts.lives import HOW_COUNTED, lives_table, lives_words

FEW = 40
ALL = 100_000


def choose() -> FamilyView:
    """Let the reader choose a family; the address of the page names it too."""
    asked = (st.session_state.as_of, st.session_state.horizon_hours)
    known = source.families(*asked)
    heed_link("family", known)
    name = st.selectbox(
        "Family",
        known,
        index=None,
        key="family",
        bind="query-params",
        placeholder="Choose a family",
    )
    keep("family")
    if name is None:
        st.info("Choose a family: clearances of one kind, in machines of one class.")
        st.stop()
    return source.family(name, *asked)


def draw(view: FamilyView, unit: str) -> None:
    """Draw the members; a click on one leads to its clearance."""
    most = FEW
    if len(view.members) > FEW:
        every = f"all {len(view.members)}"
        wanted = st.segmented_control(
            "Members", [f"the fastest {FEW}", every], default=f"the fastest {FEW}", required=True
        )
        most = ALL if wanted == every else FEW
    picture = family_chart(view, unit, most)
    if picture is None:
        return
    drawn = st.altair_chart(
        picture,
        theme=None,
        on_select="rerun",
        selection_mode=PICKED,
        key=fresh("members"),
        alt=f"Wear rates of the family {view.family}, the fastest first",
    )
    for member in drawn.selection[PICKED]:
        lead_to(member["machine"], member["clearance"])
    st.caption(
        "Mark: the rate of one member. Line: 9 chances in 10 that its true rate lies there. "
        "Dashed: the family's mean, shaded where the true mean may lie. "
        "Click a member to see its readings."
    )


def tabulate(table: pd.DataFrame) -> None:
    """List every member; a click on one leads to its clearance."""
    picked = st.dataframe(
        table,
        key=fresh("table"),
        hide_index=True,
        on_select="rerun",
        selection_mode="single-cell",
        height=min(38 + 35 * len(table), 900),
    )
    for line, _ in picked.selection.cells:
        row = table.iloc[line]
        lead_to(row["machine"], row["clearance"])


def tell_lives(lives: pd.DataFrame, unit: str) -> None:
    """Say how long the parts of each supplier last and how fast they wear."""
    st.subheader("Life by supplier")
    st.markdown("\n".join(f"- {plain(sentence)}" for sentence in lives_words(lives, unit)))
    if len(lives):
        st.dataframe(lives_table(lives, unit).drop(columns="family"), hide_index=True)
        st.caption(" ".join(HOW_COUNTED))


view = choose()
st.title(plain(view.family))
unit = choose_unit(view.unit)
st.markdown("\n".join(f"- {plain(sentence)}" for sentence in family_words(view, unit)))
with st.container(key="side_by_side"):
    left, right = st.columns([9, 11])
with left:
    draw(view, unit)
with right:
    tabulate(family_table(view, unit))
tell_lives(source.lives(view.family, st.session_state.as_of, st.session_state.horizon_hours), unit)
