"""trendwear: how fast each clearance wears, and when it will pass its limit.

>>> import trendwear
>>> {"amend", "defer", "forecast", "load", "plan"} <= set(trendwear.__all__)
True
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from trendwear.issued_plans import issue_plan, issued_plan
    from trendwear.other_cases import other_case
    from trendwear.outlook import defer, forecast, inspection_sheet, plan
    from trendwear.plan_comparison import compare
    from trendwear.store.corrections import accept_event, amend, exclude
    from trendwear.store.intake import load
    from trendwear.store.put_again import undo_take_back
    from trendwear.store.signed import Signed
    from trendwear.store.take_back import take_back
    from trendwear.store.which_row import EventKey, ReadingKey

__all__ = [
    "EventKey",
    "ReadingKey",
    "Signed",
    "__version__",
    "accept_event",
    "amend",
    "compare",
    "defer",
    "exclude",
    "forecast",
    "inspection_sheet",
    "issue_plan",
    "issued_plan",
    "load",
    "other_case",
    "plan",
    "take_back",
    "undo_take_back",
]

__version__ = "0.1.0"

_FROM = {
    "EventKey": "store.which_row",
    "ReadingKey": "store.which_row",
    "Signed": "store.signed",
    "accept_event": "store.corrections",
    "amend": "store.corrections",
    "compare": "plan_comparison",
    "defer": "outlook",
    "exclude": "store.corrections",
    "forecast": "outlook",
    "inspection_sheet": "outlook",
    "issue_plan": "issued_plans",
    "issued_plan": "issued_plans",
    "load": "store.intake",
    "other_case": "other_cases",
    "plan": "outlook",
    "take_back": "store.take_back",
    "undo_take_back": "store.put_again",
}
"""Where each name is at home; reached on first use only, so that the import stays light."""


def __getattr__(name: str) -> Any:
    if name in _FROM:
        return getattr(import_module(f"trendwear.{_FROM[name]}"), name)
    raise AttributeError(f"module 'trendwear' has no attribute {name!r}")
