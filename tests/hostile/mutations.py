"""Mutations of TOML texts and of mesh files, each by a seeded random generator."""

import re

HOSTILE = [
    "nan", "inf", "-inf", "0", "-0.0", "-1", "1e308", "-1e308", "5e-324", "1e-30",
    "9223372036854775807", "9223372036854775808", "0x" + "f" * 40, "0x" + "f" * 9000,
    "9" * 5000, "0.1" + "0" * 5000, "true", "false", "1979-05-27", "07:32:00",
    "1979-05-27T07:32:00Z", "9999-99-99", "[]", "{}", "[[[[[[1]]]]]]", "[1, 2]",
    "[" * 3000 + "]" * 3000, "{a=" * 1500 + "1" + "}" * 1500, '""', "''", '" "',
    '"x"', '"\\u001b[2J\\u0007"', '"\\u009b31m"', '"\\u0000"', '"a\\nb"', '"a\\rb"',
    '"\\u202egnp.exe"', '"\\ufffe"', '"\\u2028"', '"[bold red]x[/bold red]"',
    '"[/y]"', '"[link=http://x]"', '":boom:"', '"<script>&\\"\'"', '"::error::x"',
    '"%0A::stop"', '"{{ 1 }}"', '"../../etc/passwd"', '"/etc/passwd"', '"sub/x.step"',
    '"..\\\\x"', '"~"', '"x" * 3', '"' + "x" * 300 + '"', '"' + "ä" * 300 + '"',
    '"' + "y" * 20000 + '"', '"""a\nb"""', '"\\U0001F600"', "[1e400]",
    '["un-r124", "un-r124"]', '["nonsense"]', "{value = 1}", "{value = nan}",
]  # fmt: skip
"""Values to stand in place of others."""

PIECES = [
    "a" + ".a" * 9000 + " = 1\n", "[" + "a." * 9000 + "a]\n", "[[spokes]]\n",
    "[spokes.plate]\nconi_mm = 1\n", "[spokes.pocket]\nlenght_mm = 1\n", "[mesh]\n",
    '[mesh]\nfile = "sub/x.step"\n', "\x1b[2J\n", "\x00", "\ufeff", "= 1\n", '"', "'''",
    '"\\u001b" = 1\n', '"[bold]" = 1\n', "[]\n", "[rim]\n", "[rim.rim.rim]\n", "\r",
    "#",
    "".join(f"k{k} = 1\n" for k in range(30000)), "[surfaces]\nx = 3\n", "1 = 1\n",
    '[surfaces]\n"bead seat inboard" = "\\u001b"\n', 'extends = "un-r124"\n', "{", "]",
]  # fmt: skip
"""Pieces to be put in somewhere."""

VALUE = re.compile(r"^(\s*[\w\"'.-]+\s*=\s*)(.+)$", re.MULTILINE)
KEY = re.compile(r"^(\s*)([A-Za-z_][\w-]*)(?=\s*=)", re.MULTILINE)
NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.])")
HEAD = re.compile(r"^\[+[^\]\n]+\]+$", re.MULTILINE)


def _at_one(pattern, text, random, change):
    """Text with one match of a pattern changed."""
    found = list(pattern.finditer(text))
    if not found:
        return text
    match = random.choice(found)
    return text[: match.start()] + change(match) + text[match.end() :]


def other_value(text, random):
    """A hostile value in place of one."""
    value = random.choice(HOSTILE)
    return _at_one(VALUE, text, random, lambda m: m[1] + value)


def other_number(text, random):
    """A number by some powers of ten larger or smaller, or nearly the same."""
    factor = random.choice(
        [-1.0, 0.0, 0.5, 0.9, 1.1, 2.0, 10.0 ** random.uniform(-9, 9)]
    )
    return _at_one(NUMBER, text, random, lambda m: f"{float(m[0]) * factor:g}")


def other_key(text, random):
    """A key misspelt: a letter left out, doubled, or two changed over."""

    def misspell(match):
        key, k = match[2], random.randrange(len(match[2]))
        changed = random.choice(
            [key[:k] + key[k + 1 :], key[:k] + key[k] + key[k:], key[::-1], key.upper()]
        )
        return match[1] + (changed or "x")

    return _at_one(KEY, text, random, misspell)


def other_head(text, random):
    """A table renamed, doubled, made a list, or taken out."""

    def change(match):
        head = match[0]
        return random.choice(
            [head[:-1] + "x]", f"{head}\n{head}", f"[{head}]", "", head + ' "'],
        )

    return _at_one(HEAD, text, random, change)


def lines_moved(text, random):
    """A line left out, doubled, or moved."""
    lines = text.splitlines(keepends=True)
    if not lines:
        return text
    line = lines.pop(random.randrange(len(lines)))
    for _ in range(random.randrange(3)):
        lines.insert(random.randrange(len(lines) + 1), line)
    return "".join(lines)


def piece_put_in(text, random):
    """A hostile piece at the start of a line, or anywhere."""
    ends = [m.end() for m in re.finditer("\n", text)] or [0]
    place = random.choice([random.choice(ends), random.randrange(len(text) + 1)])
    return text[:place] + random.choice(PIECES) + text[place:]


def cut_short(text, random):
    """The file ends in the middle."""
    return text[: random.randrange(len(text) + 1)]


TEXT_CHANGES = (
    other_value, other_value, other_number, other_number, other_number, other_key,
    other_head, lines_moved, piece_put_in, cut_short,
)  # fmt: skip


def mutated_text(text, random):
    """Bytes of a TOML text after one to three mutations, now and then of bytes too."""
    for _ in range(random.choice([1, 1, 1, 2, 3])):
        text = random.choice(TEXT_CHANGES)(text, random)
    raw = text.encode("utf-8")
    return mutated_bytes(raw, random) if random.random() < 0.1 else raw


def mutated_bytes(raw, random):
    """Bytes with a few of them changed, left out, doubled, or cut off."""
    raw = bytearray(raw)
    for _ in range(random.choice([1, 1, 2, 5, 20])):
        if not raw:
            break
        k = random.randrange(len(raw))
        length = random.choice([1, 1, 2, 8, 200])
        match random.randrange(5):
            case 0:
                raw[k] = random.randrange(256)
            case 1:
                del raw[k : k + length]
            case 2:
                raw[k:k] = raw[k : k + length]
            case 3:
                raw[k : k + 1] = random.choice([b"-", b"9", b"\n", b" ", b"\0", b"e"])
            case 4:
                raw[k:k] = random.choice([b"999999999999", b"-1 ", b"nan ", b"\x1b[2J"])
    if random.random() < 0.1:
        del raw[random.randrange(len(raw) + 1) :]
    return bytes(raw)
