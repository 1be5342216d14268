"""How well each way of measuring measures, and the spellings in which sheets name it.

The site's own ``methods`` sheet counts; what it does not name has a starting value of
``data/default_methods.csv``.
"""

from __future__ import annotations

import duckdb
import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.bundled import bundled_folder
from trendwear.lengths import MM_PER_UNIT
from trendwear.readings.method_names import DEFAULT_METHODS, common_name
from trendwear.store.queries import query
from trendwear.wording import fold, fold_column

__all__ = ["all_methods", "as_method_named", "default_methods"]


def all_methods(connection: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """Return every way of measuring (`tables.METHODS`): the site's own, then the starting values.

    A method of the site's own takes the place of the starting value of that name, however
    either is spelt.
    """
    own = tables.conform(connection.execute(query("own_methods")).df(), tables.METHODS)
    given = default_methods()
    covered = {fold(common_name(name)) for name in own["method"]} | set(fold_column(own["method"]))
    given = given[~fold_column(given["method"]).isin(covered)]
    return pd.concat([own, given], ignore_index=True) if len(own) else given


def as_method_named(written: pd.Series, own: pd.Series) -> pd.Series:
    """Return methods in one spelling each: the site's own where it has one, else the common one.

    A method that nobody knows, and each spelling that the site's sheet tells apart, stays
    as it is.

    Parameters
    ----------
    written : Series of str
        Methods as sheets name them; missing where none is named.
    own : Series of str
        The methods that the site's own sheet names.
    """
    of_site: dict[str, list[str]] = {}
    for name in own:
        of_site.setdefault(fold(common_name(name)), []).append(name)
    kept = {fold(name) for name in own}
    meant = {}
    for text in written.dropna().unique():
        common = common_name(text)
        site = of_site.get(fold(common), [])
        meant[text] = text if fold(text) in kept else site[0] if len(site) == 1 else common
    named = written.astype("object").map(meant)
    return named.where(named.notna(), None).astype("object")


def default_methods() -> pd.DataFrame:
    """Return the starting values of ``data/default_methods.csv`` (`tables.METHODS`).

    A half-width written ``±a`` is one standard uncertainty of a/sqrt(3) (JCGM 100:2008, 4.3.7).
    """
    rows = pd.read_csv(bundled_folder("data") / DEFAULT_METHODS, dtype={"uncertainty": "str"})
    factor = rows["unit"].map(MM_PER_UNIT)
    written = rows["uncertainty"]
    number = written.str.removeprefix("±").astype("float64")
    half_width = written.str.startswith("±", na=False).astype(bool)
    mm = pd.DataFrame(
        {
            "uncertainty_mm": number.where(~half_width, number / np.sqrt(3.0)) * factor,
            "resolution_mm": rows["resolution"] * factor,
            "bias_mm": rows["bias"] * factor,
        }
    ).round(12)
    return tables.conform(mm.join(rows[["method", "source"]]), tables.METHODS)
