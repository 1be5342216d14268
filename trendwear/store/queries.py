"""The store's SQL, kept in ``sql/*.sql``: one named query after another.

A query begins with ``-- name: its_name``; comment lines above or below say what
it is for.  Values are bound (``$load``), never written into the text.
"""

from __future__ import annotations

import functools
import re
from pathlib import Path
from typing import Final

__all__ = ["SQL_FOLDER", "parse", "query", "script"]

SQL_FOLDER: Final = Path(__file__).parent / "sql"
_NAME: Final = re.compile(r"^--\s*name:\s*(\w+)\s*$", re.MULTILINE)


def parse(text: str) -> dict[str, str]:
    """Return the queries of one file by name.

    >>> parse("-- name: one\\n-- The number one.\\nselect 1;\\n")
    {'one': '-- The number one.\\nselect 1;'}
    """
    parts = _NAME.split(text)
    names, bodies = parts[1::2], parts[2::2]
    if len(set(names)) != len(names):
        raise KeyError("two queries of one file have the same name")
    return {name: body.strip() for name, body in zip(names, bodies, strict=True)}


@functools.cache
def _all_queries() -> dict[str, str]:
    found: dict[str, str] = {}
    for path in sorted(SQL_FOLDER.glob("*.sql")):
        for name, body in parse(path.read_text(encoding="utf-8")).items():
            if name in found:
                raise KeyError(f"query {name} stands in two files")
            found[name] = body
    return found


def query(name: str) -> str:
    """Return the query of that name; `KeyError` where there is none."""
    return _all_queries()[name]


def script(name: str) -> str:
    """Return a whole file of ``sql/``, run as one: the views, a migration."""
    return (SQL_FOLDER / name).read_text(encoding="utf-8")
