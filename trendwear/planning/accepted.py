"""The chance of passing a limit that a site accepts: set by a person, never by the program."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
import pandas as pd

from trendwear.errors import UsageProblem
from trendwear.wording import fold

__all__ = ["SHOWN_WITHOUT_CHOICE", "Accepted", "accepted_by_sheet", "accepted_for_all"]

SHOWN_WITHOUT_CHOICE: Final = (0.05, 0.10, 0.20)
"""Risks for which a plan is shown where nobody has set one: the reader is told to choose."""
ANY: Final = "any limit"
UNSAID: Final = "consequence without accepted risk"


@dataclass(frozen=True)
class Accepted:
    """Accepted risks.

    Attributes
    ----------
    for_all : float or None
        One risk for all limiting clearances of a machine together; where given it stands
        in place of ``by_consequence``.
    by_consequence : dict of str to float
        A risk for the clearances of each consequence together.
    """

    for_all: float | None = None
    by_consequence: dict[str, float] = field(default_factory=dict)

    @property
    def given(self) -> bool:
        """Whether anyone has set a risk."""
        return self.for_all is not None or bool(self.by_consequence)

    @property
    def strictest(self) -> float:
        """The least of the risks."""
        risks = [self.for_all] if self.for_all is not None else self.by_consequence.values()
        return min(float(risk) for risk in risks)

    def heading(self, consequence: pd.Series) -> pd.Series:
        """Under which accepted risk clearances of these consequences fall.

        One heading for all where one risk holds for all, else the consequence itself;
        `UNSAID` where no risk is set for it.
        """
        if self.for_all is not None:
            return pd.Series(ANY, index=consequence.index, dtype="object")
        said = consequence.map(lambda text: fold(text) if isinstance(text, str) else UNSAID)
        return said.where(said.isin(set(self.by_consequence)), UNSAID).astype("object")

    def risk(self, heading: str) -> float:
        """The risk under a heading; the strictest one under `UNSAID`."""
        if self.for_all is not None:
            return self.for_all
        return self.by_consequence.get(heading, self.strictest)


def accepted_for_all(risk: float) -> Accepted:
    """Return one accepted risk for all limiting clearances of a machine together.

    Raises
    ------
    UsageProblem
        It is not a chance from 0 to 1.
    """
    if not 0.0 <= risk <= 1.0:
        raise UsageProblem(
            "accepted risk", f"{risk:g} is not a chance", "Give 0 to 1: 0.1 for one in ten."
        )
    return Accepted(for_all=float(risk))


def accepted_by_sheet(risks: pd.DataFrame) -> Accepted:
    """Return the accepted risks of the ``risks`` sheet (`tables.RISKS`); none where it is empty."""
    stated = risks[np.isfinite(risks["accepted"])]
    names = [fold(name) for name in stated["consequence"]]
    return Accepted(by_consequence=dict(zip(names, stated["accepted"].astype(float), strict=True)))
