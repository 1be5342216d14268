"""What the words of a position's name say: sides, numbers, and trade words however shortened.

Workshop usage; common practice, no source.  A word that is not in the tables stands for
itself, and two names that differ in one are never taken for the same.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from dataclasses import dataclass
from typing import Final

__all__ = ["Wording", "worded"]

_SPELT: Final = {
    "bearing": "brg brgs brng bearing bearings liner liners shell shells",
    "journal": "jnl jrnl jour journal journals",
    "thrust": "thr thrst thrust",
    "carbon": "carb carbon carbons",
    "ring": "rg rng ring rings",
    "gland": "gld glnd gland glands",
    "packing": "pkg pkng packing",
    "labyrinth": "lab laby lby labyrinth labyrinths",
    "seal": "seal seals",
    "nozzle": "noz nzl nozzle nozzles",
    "blade": "bld blade blades blading bucket buckets",
    "wear": "wear",
    "impeller": "imp impeller",
    "casing": "csg casing",
    "bushing": "bush bshg bushing bushings bushes",
    "sleeve": "slv sleeve",
    "balance": "bal balance",
    "throttle": "throttle",
    "interstage": "interstage",
    "end play": "ep endplay",
    "float": "float",
    "thickness": "thk thick thickness",
    "axial": "ax axial",
    "radial": "rad radial",
    "diametral": "dia diam diametral diametrical",
    "stage": "stg stage",
    "slot": "slot",
    "pad": "pad pads shoe shoes",
    "row": "row",
}
_SIDES: Final = {
    "inboard": ("board", "ib inb inbd inbrd inboard"),
    "outboard": ("board", "ob outb outbd outbrd outboard"),
    "drive end": ("drive", "de"),
    "non-drive end": ("drive", "nde"),
    "steam end": ("flow", "stm steam admission"),
    "exhaust end": ("flow", "exh exhst exhaust"),
    "governor end": ("shaft", "gov governor"),
    "coupling end": ("shaft", "cpl cplg coup coupling"),
    "top": ("height", "top upper"),
    "bottom": ("height", "btm bot bottom lower"),
    "left": ("hand", "lh left"),
    "right": ("hand", "rh right"),
    "front": ("length", "fwd front forward"),
    "rear": ("length", "aft rear back"),
    "high pressure": ("pressure", "hp"),
    "intermediate pressure": ("pressure", "ip"),
    "low pressure": ("pressure", "lp"),
    "suction": ("fluid", "suc suct suction"),
    "discharge": ("fluid", "disch discharge"),
    "active": ("thrust face", "act active"),
    "inactive": ("thrust face", "inact inactive"),
    "vertical": ("plane", "vert vertical"),
    "horizontal": ("plane", "horiz horizontal"),
}
"""Each side, the pair it belongs to, and its spellings: two sides of one pair are two places."""

_FILL: Final = "the of to at and for in on no nr num number pos position end side clr clnc clear"
_NOISE: Final = frozenset((*_FILL.split(), "clearance", "clearances", "gap", "oil", "reading"))
_NUMBERED: Final = ("ring", "slot", "stage", "bearing", "gland", "seal", "row", "pad", "impeller")
"""What is counted: "stage 2 ring 1" is not "stage 1 ring 2"."""
_ITSELF: Final = ("ring", "bearing", "seal", "pad")
_ROMAN: Final = {"ii": "2", "iii": "3", "iv": "4"}  # I and V may be letters
_PHRASES: Final = (
    (re.compile(r"\bi\s*[./]\s*b\b"), " ib "),
    (re.compile(r"\bo\s*[./]\s*b\b"), " ob "),
    (re.compile(r"\b(?:non|opp(?:osite)?)\.?[\s-]*drive\b"), " nde "),
    (re.compile(r"\bdrive\s+(?=end|side)"), " de "),
    (re.compile(r"\bend[\s-]+play\b"), " endplay "),
    (re.compile(r"#"), " no "),
    (re.compile(r"(\d)(?:st|nd|rd|th)\b"), r"\1 nth "),
)
_TOKEN: Final = re.compile(r"\d+(?:\.\d+)?|[^\W\d_]+")
_LONG: Final = 5
_IN_COMMON: Final = 0.8

_WORD_OF: Final = {
    spelling: word for word, spellings in _SPELT.items() for spelling in spellings.split()
}
_SIDE_OF: Final = {
    spelling: side for side, (_, spellings) in _SIDES.items() for spelling in spellings.split()
}
_LONG_WORDS: Final = [w for w in (*_WORD_OF, *_SIDE_OF) if len(w) >= _LONG]


@dataclass(frozen=True)
class Wording:
    """What a name says, whatever the order and the spelling of its words."""

    words: frozenset[str]
    """Trade words, in full."""
    sides: frozenset[str]
    numbers: tuple[tuple[str, str], ...]
    """What is counted, blank where the name does not say, and its number."""
    rest: frozenset[str]
    """Words that are not in the tables, as they stand."""
    slips: tuple[tuple[str, str], ...]
    """Words taken for a slip of the pen, and what they were read as."""
    short: tuple[tuple[str, str], ...]
    """Shortened words, and what they were read as."""

    def against(self, other: Wording) -> str | None:
        """Return what keeps the two names apart for good; None where nothing does."""
        for one in sorted(self.sides):
            for two in sorted(other.sides):
                if one != two and _SIDES[one][0] == _SIDES[two][0] and two not in self.sides:
                    return f"{one} is not {two}"
        if self.numbers and other.numbers and not _numbers_agree(self.numbers, other.numbers):
            return f"{_said(self.numbers)} is not {_said(other.numbers)}"
        if self.rest and other.rest and self.rest != other.rest:
            return f"{' '.join(sorted(self.rest))} is not {' '.join(sorted(other.rest))}"
        return None

    @property
    def place(self) -> tuple[object, ...]:
        """What two spellings of one place have in common: sides, numbers and unknown words."""
        numbers = self.numbers
        if len(numbers) == 1 and numbers[0][0] in _ITSELF:  # ring 3 is #3, slot 3 may be another
            numbers = (("", numbers[0][1]),)
        elif all(counted for counted, _ in numbers):
            numbers = tuple(sorted(numbers))
        return self.sides, numbers, self.rest

    @property
    def place_of_slot(self) -> tuple[object, ...]:
        """The same, with a slot taken for what sits in it."""
        sides, numbers, rest = self.place
        if len(self.numbers) == 1 and self.numbers[0][0] == "slot":
            numbers = (("", self.numbers[0][1]),)
        return sides, numbers, rest


def worded(name: str) -> Wording:
    """Return what the words of a name say.

    >>> worded("IB brg #2") == worded("Bearing no. 2, inboard")
    False
    >>> worded("IB brg #2").place == worded("Bearing no. 2, inboard").place
    True
    """
    text = unicodedata.normalize("NFKC", name).casefold().replace("-", " ")
    for phrase, plain in _PHRASES:
        text = phrase.sub(plain, text)
    tokens = [_ROMAN.get(token, token) for token in _TOKEN.findall(text)]
    words, sides, rest, slips, short = set(), set(), set(), [], []
    read: list[str] = []
    for token in tokens:
        meant = token if token[0].isdigit() or token in _KNOWN else _slip(token)
        if meant != token:
            slips.append((token, _WORD_OF.get(meant) or _SIDE_OF.get(meant, meant)))
        full = _WORD_OF.get(meant) or _SIDE_OF.get(meant) or meant
        read.append(full)
        if meant in _WORD_OF:
            words.add(full)
        elif meant in _SIDE_OF:
            sides.add(full)
        elif meant not in _NOISE and not meant[0].isdigit() and meant != "nth":
            rest.add(meant)
        if meant == token and not full.replace(" ", "").startswith(token[:_LONG]):
            short.append((token, full))
    numbers = _numbers(read)
    return Wording(
        frozenset(words), frozenset(sides), numbers, frozenset(rest), tuple(slips), tuple(short)
    )


_KNOWN: Final = frozenset((*_WORD_OF, *_SIDE_OF, *_NOISE, "nth"))


def _slip(token: str) -> str:
    """Return the long trade word that a long word is a slip of the pen of, else the word."""
    if len(token) < _LONG:
        return token
    near = difflib.get_close_matches(token, _LONG_WORDS, n=1, cutoff=_IN_COMMON)
    return near[0] if near else token


def _numbers(read: list[str]) -> tuple[tuple[str, str], ...]:
    """Return every number with the word that it counts, which stands before it or after "3rd"."""
    found = []
    for place, token in enumerate(read):
        if not token[0].isdigit():
            continue
        number = str(int(token)) if token.isdigit() else token
        if read[place + 1 : place + 2] == ["nth"]:
            near = read[place + 2 : place + 4]
        else:
            near = [word for word in read[max(0, place - 2) : place][::-1] if word != "no"][:1]
        counted = next((word for word in near if word in _NUMBERED), "")
        found.append((counted, number))
    return tuple(found)


def _numbers_agree(one: tuple[tuple[str, str], ...], two: tuple[tuple[str, str], ...]) -> bool:
    """Whether no number of one contradicts the other."""
    named, others = dict(one), dict(two)
    shared = [what for what in named if what and what in others]
    if any(named[what] != others[what] for what in shared):
        return False
    if shared and (len(one) > 1 or len(two) > 1):
        return True
    fewer, more = sorted(([n for _, n in one], [n for _, n in two]), key=len)
    return set(fewer) <= set(more) if len(fewer) != len(more) else fewer == more


def _said(numbers: tuple[tuple[str, str], ...]) -> str:
    return " ".join(f"{what or 'number'} {number}" for what, number in numbers)
