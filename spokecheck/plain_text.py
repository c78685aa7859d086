"""Characters that are no text: they steer a terminal, or cannot stand in XML.

They are refused in input files, and shown as their numbers where a name or a message
holds one all the same.
"""

import unicodedata
from collections.abc import Iterator

LAYOUT = "\n\t"
"""Control characters that lay out text."""

TURNING = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""Characters that turn the direction of writing (Unicode's ``Bidi_Control``), so that
a text reads as another one."""


def bad_characters(text: str, allowed: str = LAYOUT) -> Iterator[str]:
    r"""Characters of a text that steer a terminal or cannot stand in XML.

    Examples
    --------
    >>> [f"{ord(c):x}" for c in bad_characters("a\x1b[2J\nb\x9b")]
    ['1b', '9b']
    """
    if text.isascii() and text.isprintable():
        return
    for character in text:
        if _is_bad(character) and character not in allowed:
            yield character


def _is_bad(character: str) -> bool:
    # Cc: C0 and C1 controls; Cs: halves of a pair; Zl and Zp: separators of lines
    if unicodedata.category(character) in ("Cc", "Cs", "Zl", "Zp"):
        return True
    # XML 1.0, production 2, leaves out the last two of the basic plane
    return character in TURNING or character in "\ufffe\uffff"


def escaped(text: str, allowed: str = LAYOUT) -> str:
    r"""Text with those characters as their numbers.

    Examples
    --------
    >>> escaped("a\x1b[2Jb")
    'a\\x1b[2Jb'
    """
    bad = set(bad_characters(text, allowed))
    return text.translate({ord(c): ascii(c)[1:-1] for c in bad}) if bad else text


def described(character: str) -> str:
    r"""Name of a character that cannot be shown.

    Examples
    --------
    >>> described("\u202e"), described("\x07")
    ('the character U+202E (right-to-left override)', 'the control character U+0007')
    """
    name = unicodedata.name(character, "").lower()
    number = f"U+{ord(character):04X}"
    return (
        f"the character {number} ({name})"
        if name
        else f"the control character {number}"
    )
