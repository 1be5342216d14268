"""Where the dashboards, the demo plant and the reference data lie.

In a checkout they stand beside the package; an installed wheel carries them
inside it.
"""

from __future__ import annotations

from pathlib import Path

__all__ = ["bundled_folder"]

_PACKAGE = Path(__file__).resolve().parent


def bundled_folder(name: str) -> Path:
    """Return the folder ``name`` (``dashboards``, ``data`` or ``demo``)."""
    inside = _PACKAGE / "bundled_files" / name
    return inside if inside.is_dir() else _PACKAGE.parent / name
