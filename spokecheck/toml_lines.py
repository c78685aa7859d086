"""On which line of a TOML text a key stands, for messages that editors can follow.

The library that reads TOML keeps no places, so the text is scanned for table heads and
keys.
The scan is no parser: it answers for texts that have been parsed, or that failed to.
"""

import re

HEAD = re.compile(r"^\s*\[{1,2}\s*([^\[\]]+?)\s*\]{1,2}\s*(?:#.*)?$")
KEY = re.compile(
    r"""^\s*((?:[\w-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[\w-]+|"[^"]*"|'[^']*'))*)\s*="""
)
PART = re.compile(r"""[\w-]+|"[^"]*"|'[^']*'""")
AT_LINE = re.compile(r"\(at line (\d+)")
"""How the library says where a text is no TOML."""

QUOTES = ('"""', "'''")


def line_of(text: str, key: str) -> int:
    r"""Line on which a key stands.

    Parameters
    ----------
    text : str
        TOML.
    key : str
        Dotted key, such as ``spokes.count``.

    Returns
    -------
    int
        From 1.  For a key that is not there, the line of its table; failing that, 1.

    Examples
    --------
    >>> text = "name = 'A'\n[spokes]\ncount = 2\n"
    >>> [line_of(text, key) for key in ("spokes.count", "spokes.width", "hub.bore")]
    [3, 2, 1]
    """
    lines = _lines_of_keys(text)
    wanted = tuple(key.split("."))
    while wanted:
        if wanted in lines:
            return lines[wanted]
        wanted = wanted[:-1]
    return 1


def line_in_message(message: str) -> int:
    """Line that a message about the syntax names; 1 if it names none.

    Examples
    --------
    >>> line_in_message("Invalid value (at line 3, column 5)")
    3
    """
    found = AT_LINE.search(message)
    return int(found[1]) if found else 1


def _lines_of_keys(text: str) -> dict[tuple[str, ...], int]:
    """First line of every table and key."""
    lines: dict[tuple[str, ...], int] = {}
    table: tuple[str, ...] = ()
    open_quote = ""
    for number, line in enumerate(text.splitlines(), 1):
        if open_quote:
            open_quote = "" if open_quote in line else open_quote
            continue
        head, key = HEAD.match(line), KEY.match(line)
        if head:
            table = _parts(head[1])
            lines.setdefault(table, number)
        elif key:
            path = (*table, *_parts(key[1]))
            for end in range(len(table) + 1, len(path) + 1):
                lines.setdefault(path[:end], number)
            open_quote = _opened(line[key.end() :])
    return lines


def _parts(dotted: str) -> tuple[str, ...]:
    return tuple(part.strip("\"'") for part in PART.findall(dotted))


def _opened(value: str) -> str:
    """Quotes of a text of several lines that a value begins and does not end."""
    start = value.strip()
    for quote in QUOTES:
        if start.startswith(quote) and quote not in start[len(quote) :]:
            return quote
    return ""
