"""Names that are not in the tables letter by letter → the taxon spelt nearest, where one is."""

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import process
from rapidfuzz.distance import OSA

from mapper.load.species_names import genus_names, known_names
from mapper.load.species_reading import UNCLEAR, UNREAD, Reading, one_of

# Slips: letters left out, added, changed, or two neighbours swapped. With these limits (measured on
# 600 seeded names of each kind) a botanical name with one slip is read rightly in 99.8 %, with two
# in 98 %, wrongly never; a common name with one slip rightly in 83 %, asked about or left in 16 %,
# wrongly in 0.7 %. The real name of a tree that the table lacks is taken for another in 0.9 %.
ONE_SLIP_FROM = 6  # letters
TWO_SLIPS_FROM = 12
FAR = 255
MARGIN = 1  # the next taxon must be this many slips further away


def read_nearly(keys: Sequence[str]) -> list[Reading]:
    """Readings of misspelt names, given as keys."""
    if not keys:
        return []
    names = _spellings()
    most = max(map(_slips_allowed, keys))
    apart = process.cdist(
        keys, names, scorer=OSA.distance, score_cutoff=most + MARGIN, dtype=np.uint8
    )
    return [_nearest(key, row, names) for key, row in zip(keys, apart, strict=True)]


def _nearest(key: str, apart: NDArray[np.uint8], names: tuple[str, ...]) -> Reading:
    apart = np.where(_same_genus(key, names), apart, FAR)
    least = int(apart.min())
    if least > _slips_allowed(key):
        return UNREAD
    near = np.flatnonzero(apart <= least + MARGIN)
    meant = dict.fromkeys(taxon for index in near for taxon in known_names()[names[index]])
    reading = one_of(meant, "from another spelling")
    agrees = reading.taxon in {*known_names()[names[int(apart.argmin())]]}
    return reading if agrees else Reading("", UNCLEAR, tuple(meant))


def _same_genus(key: str, names: tuple[str, ...]) -> "NDArray[np.bool_] | bool":
    """A genus spelt rightly stays: Pinus serotina is not a misspelt Prunus serotina."""
    genus, _, rest = key.partition(" ")
    if not rest or genus not in genus_names():
        return True
    return np.array([name.startswith(f"{genus} ") for name in names])


def _slips_allowed(key: str) -> int:
    return (len(key) >= ONE_SLIP_FROM) + (len(key) >= TWO_SLIPS_FROM)


@cache
def _spellings() -> tuple[str, ...]:
    return tuple(known_names())
