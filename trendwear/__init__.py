"""trendwear: how fast each clearance wears, and when it will pass its limit.

>>> import trendwear
>>> [name for name in trendwear.__all__ if name[0].islower()]
['accept_event', 'amend', 'exclude', 'forecast', 'load', 'other_case', 'plan']
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from trendwear.other_cases import other_case
    from trendwear.outlook import forecast, plan
    from trendwear.store.corrections import Signed, accept_event, amend, exclude
    from trendwear.store.intake import load
    from trendwear.store.which_row import EventKey, ReadingKey

__all__ = [
    "EventKey",
    "ReadingKey",
    "Signed",
    "__version__",
    "accept_event",
    "amend",
    "exclude",
    "forecast",
    "load",
    "other_case",
    "plan",
]

__version__ = "0.1.0"

_FROM = {
    "EventKey": "store.which_row",
    "ReadingKey": "store.which_row",
    "Signed": "store.corrections",
    "accept_event": "store.corrections",
    "amend": "store.corrections",
    "exclude": "store.corrections",
    "forecast": "outlook",
    "load": "store.intake",
    "other_case": "other_cases",
    "plan": "outlook",
}
"""Where each name is at home; reached on first use only, so that the import stays light."""


def __getattr__(name: str) -> Any:
    if name in _FROM:
        return getattr(import_module(f"trendwear.{_FROM[name]}"), name)
    raise AttributeError(f"module 'trendwear' has no attribute {name!r}")
