"""trendwear: how fast each clearance wears, and when it will pass its limit.

>>> import trendwear
>>> trendwear.__all__
['__version__', 'forecast', 'load']
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from trendwear.outlook import forecast
    from trendwear.store.intake import load

__all__ = ["__version__", "forecast", "load"]

__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    # Reached on first use only, so that `import trendwear` stays light.
    if name == "load":
        from trendwear.store.intake import load

        return load
    if name == "forecast":
        from trendwear.outlook import forecast

        return forecast
    raise AttributeError(f"module 'trendwear' has no attribute {name!r}")
