"""Fits of families that were worked out before, so that only what changed is fitted again.

A family's fit follows from its readings (`trendwear.fit.fingerprints`), from the noise
that the families of the site teach, and from the version of the mathematics.  What was
kept is used where all three are the same, and not otherwise.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, fields
from typing import Any, Final

from trendwear.fit.family_choice import Chosen
from trendwear.wear.rest import Rest
from trendwear.wear.version import MODEL_VERSION

__all__ = ["KEPT_BY", "NOTHING_KEPT", "KeptFit", "KeptFits", "KeptText"]


@dataclass(frozen=True)
class KeptText:
    """A fit of one family as it is written down."""

    family: str
    fingerprint: str
    noise_share: float
    """Prior centre of the wear noise it was fitted under (`trendwear.wear.priors.Noise`)."""
    result: str
    """`KeptFit` in JSON; every number comes back to the last bit."""


@dataclass(frozen=True)
class KeptFit:
    """What the searches of one family found."""

    chosen: Chosen
    first: Rest
    """Under the default noise."""
    last: Rest
    """Under the noise of the site."""

    def text(self) -> str:
        """Write it down."""
        return json.dumps({name: asdict(getattr(self, name)) for name in _PARTS})


_PARTS: Final = {"chosen": Chosen, "first": Rest, "last": Rest}

_FORM: Final = json.dumps(
    {name: [one.name for one in fields(part)] for name, part in _PARTS.items()}
)

KEPT_BY: Final = f"model {MODEL_VERSION}, form {hashlib.sha256(_FORM.encode()).hexdigest()[:12]}"
"""The mathematics and the form of writing; what was kept by another is of no use."""


@dataclass(frozen=True)
class KeptFits:
    """Kept fits by fingerprint, and below it by share of the noise."""

    found: dict[str, dict[float, str]] = field(default_factory=dict)

    def any_noise(self, fingerprint: str) -> KeptFit | None:
        """Return a kept fit of these readings under whatever noise; its `last` may not hold."""
        texts = self.found.get(fingerprint)
        return _read(next(iter(texts.values()))) if texts else None

    def has(self, fingerprint: str, noise_share: float) -> bool:
        """Whether a fit of these readings under this noise is kept."""
        return noise_share in self.found.get(fingerprint, {})

    def under(self, fingerprint: str, noise_share: float) -> KeptFit | None:
        """Return the kept fit of these readings under this noise."""
        text = self.found.get(fingerprint, {}).get(noise_share)
        return None if text is None else _read(text)

    def and_also(self, texts: Iterable[KeptText]) -> KeptFits:
        """Return these fits and some more."""
        found = dict(self.found)
        for one in texts:
            by_noise = found.get(one.fingerprint, {})
            found[one.fingerprint] = {**by_noise, one.noise_share: one.result}
        return KeptFits(found)


NOTHING_KEPT: Final = KeptFits()


def _read(text: str) -> KeptFit:
    told = json.loads(text)
    return KeptFit(
        chosen=Chosen(**_with_tuples(told["chosen"])),
        first=Rest(**_with_tuples(told["first"])),
        last=Rest(**_with_tuples(told["last"])),
    )


def _with_tuples(told: dict[str, Any]) -> dict[str, Any]:
    return {name: tuple(it) if isinstance(it, list) else it for name, it in told.items()}
