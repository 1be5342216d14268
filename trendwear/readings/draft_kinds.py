"""The likely kind of a clearance by the words of its name, and what goes with that kind.

End play axial, and a sleeve bearing by its bore less its journal: NAVEDTRA 14150, ch. 2.
The others are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["Kind", "kind_named", "kind_of", "said_basis"]


@dataclass(frozen=True)
class Kind:
    """A kind of clearance."""

    name: str
    basis: str | None
    """How it is usually counted; None where shops differ."""
    moves: str | None
    """Which way it usually wears; None where it may be either."""
    doubt: str = ""
    """What else the words may mean."""

    @property
    def usual(self) -> str:
        """What goes with the kind, in words."""
        moves = self.moves or "opens or closes: ask"
        return f"{moves}, {self.basis or 'radial or diametral: ask'}"


_THICKNESS: Final = Kind("pad thickness", "thickness", "closes")
_BARE_BEARING: Final = "it may be a rolling bearing, which has no wear limit to trend"
_BY_WORDS: Final[tuple[tuple[frozenset[str], Kind], ...]] = tuple(
    (frozenset(words.split("+")), kind)
    for words, kind in (
        ("thrust+thickness", _THICKNESS),
        ("pad+thickness", _THICKNESS),
        ("end play", Kind("thrust end play", "axial", "opens")),
        ("thrust", Kind("thrust end play", "axial", "opens")),
        ("float", Kind("thrust end play", "axial", "opens", "float with the shoes out is another")),
        ("carbon", Kind("carbon ring", "diametral", "opens")),
        ("labyrinth", Kind("labyrinth", None, "opens")),
        ("nozzle", Kind("nozzle to blade gap", "axial", None)),
        ("wear+ring", Kind("wear ring", "diametral", "opens")),
        ("balance+bushing", Kind("balance bushing", "diametral", "opens")),
        ("throttle+bushing", Kind("throttle bushing", "diametral", "opens")),
        ("interstage+bushing", Kind("interstage bushing", "diametral", "opens")),
        ("bushing", Kind("bushing", "diametral", "opens")),
        ("sleeve+bearing", Kind("sleeve bearing", "diametral", "opens")),
        ("journal", Kind("sleeve bearing", "diametral", "opens")),
        ("packing+sleeve", Kind("packing sleeve", "diametral", "opens")),
        ("bearing", Kind("sleeve bearing", "diametral", "opens", _BARE_BEARING)),
    )
)
"""The first whose words all stand in the name counts."""
_BASIS_WORDS: Final = {
    "axial": "axial",
    "end play": "axial",
    "radial": "radial",
    "diametral": "diametral",
    "thickness": "thickness",
}


def kind_of(words: frozenset[str]) -> Kind | None:
    """Return the likely kind of a position whose name has these trade words, or None.

    >>> kind_of(frozenset({"journal", "bearing"})).name
    'sleeve bearing'
    """
    return next((kind for needed, kind in _BY_WORDS if needed <= words), None)


def kind_named(name: str) -> Kind | None:
    """Return what is known of a kind by its own name."""
    return next((kind for _, kind in _BY_WORDS if kind.name == name.casefold()), None)


def said_basis(words: frozenset[str]) -> str | None:
    """Return the basis that the words of a name say, None where they say none or two."""
    said = {_BASIS_WORDS[word] for word in words if word in _BASIS_WORDS}
    return said.pop() if len(said) == 1 else None
