"""Words that stand where a reading should: work that was done, or why there is no number."""

from __future__ import annotations

from typing import Final

from trendwear.wording import fold

__all__ = ["WORN_THROUGH", "word_known", "work_named", "worn_through"]

WORN_THROUGH: Final = "worn through"
"""The side of a length that says so: at least the limit."""

_WORK: Final[dict[str, str]] = {
    "renewed": "renewed",
    "replaced": "renewed",
    "adjusted": "adjusted",
    "shimmed": "shimmed",
    "dressed": "dressed",
    "scraped": "dressed",
    "re babbitted": "re-babbitted",
    "re metalled": "re-babbitted",
    "reground": "reground",
    "re ground": "reground",
    "partner renewed": "partner renewed",
    "exchanged": "exchanged",
    "swapped": "exchanged",
}
"""What the words name, in the words of the `work` sheet.  Workshop usage; common practice,
no source."""

_OTHER: Final = (
    "n/a",
    "na",
    "n.a.",
    "not applicable",
    "-",
    "--",
    "—",
    "–",
    "not taken",
    "not measured",
    "not checked",
    "not accessible",
    "no access",
    "not opened",
    "no reading",
    "no go",
    "ok",
    "o.k.",
    "good",
    "worn",
    "same",
    "unchanged",
)


_WORN: Final = (WORN_THROUGH, "worn out", "wiped")
"""Words for a part of which nothing is left (workshop usage; common practice, no source)."""


def _key(text: str) -> str:
    return fold(text).replace(" ", "")


_ACTIONS: Final = {_key(word): action for word, action in _WORK.items()}
_EVENTS: Final = frozenset(_key(word) for word in _OTHER)
_WORN_KEYS: Final = frozenset(_key(word) for word in _WORN)


def work_named(text: str) -> str | None:
    """Return the action of the `work` sheet that the word names, or None.

    >>> work_named("Rebabbitted"), work_named("6.5 mil")
    ('re-babbitted', None)
    """
    return _ACTIONS.get(_key(text))


def word_known(text: str) -> bool:
    """Return whether the text is a known word that stands for no number.

    >>> word_known("Not taken"), word_known("n/a"), word_known("half life")
    (True, True, False)
    """
    return _key(text) in _EVENTS


def worn_through(text: str) -> bool:
    """Return whether the text says that nothing is left of the part.

    >>> worn_through("Wiped"), worn_through("worn")
    (True, False)
    """
    return _key(text) in _WORN_KEYS
