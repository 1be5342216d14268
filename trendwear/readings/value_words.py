"""Words that stand where a reading should: work that was done, or why there is no number."""

from __future__ import annotations

from typing import Final

from trendwear.wording import fold

__all__ = ["word_known", "work_named"]

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


def _key(text: str) -> str:
    return fold(text).replace(" ", "")


_ACTIONS: Final = {_key(word): action for word, action in _WORK.items()}
_EVENTS: Final = frozenset(_key(word) for word in _OTHER)


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
