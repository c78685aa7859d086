"""File names for the results of designs."""

import re
import unicodedata
from collections.abc import Sequence
from pathlib import Path

LONGEST_STEM = 60
"""Characters of a file stem made from a design's name."""

MOST_BYTES = 160
"""Of a file stem made from a file's: with what is put before and behind it, a file
system takes 255."""

COMPARISON = "comparison"


def slug(name: str) -> str:
    """File stem from a name: letters, digits and hyphens only; never empty.

    Examples
    --------
    >>> slug("Aspen 5, cast"), slug("../Öl & <b>"), slug("???")
    ('aspen-5-cast', 'öl-b', 'design')
    """
    text = unicodedata.normalize("NFC", unicodedata.normalize("NFKC", name).lower())
    short = re.sub(r"[\W_]+", "-", text).strip("-")[:LONGEST_STEM].strip("-")
    return short or "design"


def unique_stems(files: Sequence[Path]) -> dict[Path, str]:
    """Stem for each design file; files of one name get their folder's name in front.

    The comparison's own stem is never given away.

    Examples
    --------
    >>> files = [Path("a/x.toml"), Path("b/x.toml"), Path("y.toml")]
    >>> list(unique_stems(files).values())
    ['a-x', 'b-x', 'y']
    """
    stems: dict[Path, str] = {}
    taken = {COMPARISON}
    plain = [file.stem.lower() for file in files]
    for file in files:
        own = file.stem
        if plain.count(own.lower()) > 1:
            own = f"{slug(file.parent.name)}-{own}"
        own = stem = _bounded(own)
        k = 2
        while stem.lower() in taken:
            stem, k = f"{own}-{k}", k + 1
        taken.add(stem.lower())
        stems[file] = stem
    return stems


def _bounded(stem: str) -> str:
    """Stem that leaves room for what is put before and behind it."""
    return stem.encode("utf-8", "replace")[:MOST_BYTES].decode("utf-8", "ignore")
