"""Run the commands and examples of README.md word for word; stop at the first failure.

A command whose line is followed by ``# exit code N`` must end with that code.
A block introduced by "It prints" is compared with what the block before it printed.
"""

import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BLOCK = re.compile(
    r"^```(sh|python)\n(.*?)^```\n+(?:It prints\n+^```\n(.*?)^```)?",
    re.DOTALL | re.MULTILINE,
)
EXPECTED = re.compile(r"#.*exit code (\d+)")
GAP = "..."
"""Stands in a printed block for lines left out."""
CLOSE, LIFE, PERCENT = 0.05, 2.0, 3.0
"""How far printed numbers may differ, for other releases of the libraries give other
meshes: stresses and margins by the share to which hot spots settle, lives (written with
an exponent) by a factor, as they go with a high power of stress, error bars by points
of a percentage."""


def blocks(text):
    """Language, code and printed text (empty if none) of each block."""
    yield from BLOCK.findall(text)


def commands(block):
    """Yield the commands of an ``sh`` block with the exit code each must give."""
    for line in block.replace("\\\n", " ").splitlines():
        if line.strip() and not line.startswith("#"):
            found = EXPECTED.search(line)
            yield line, int(found[1]) if found else 0


def number(word):
    """Value of a word that is a number, else None."""
    try:
        return float(word.strip("(),:;"))
    except ValueError:
        return None


def agrees(word, following, other):
    """Whether another word is the same, or a number of nearly the same value.

    ``following`` is the word behind the first, which says whether it is a percentage.
    """
    a, b = number(word), number(other)
    if a is None or b is None:
        return word == other
    if following == "%":
        return abs(a - b) <= PERCENT
    if "e" in word:
        return a / LIFE <= b <= a * LIFE
    return abs(a - b) <= CLOSE * abs(a)


def starts(wanted, words):
    """Whether a list of words begins with the wanted ones."""
    if len(words) < len(wanted):
        return False
    return all(map(agrees, wanted, [*wanted[1:], ""], words))


def missing(printed, output):
    """First run of lines of a printed block that the output lacks, or None.

    Line breaks and blanks do not count; runs are separated by lines of three dots and
    come in order.
    """
    words, start = output.split(), 0
    for run in re.split(rf"^{re.escape(GAP)}$", printed, flags=re.MULTILINE):
        wanted = run.split()
        places = (k for k in range(start, len(words)) if starts(wanted, words[k:]))
        found = next(places, None)
        if found is None:
            return run.strip()
        start = found + len(wanted)
    return None


def run_commands(block):
    """Run the commands of a block, show what they print, and return it."""
    printed = ""
    for command, expected in commands(block):
        print(f"$ {command}", flush=True)
        with subprocess.Popen(
            ["bash", "-c", command],
            cwd=ROOT,
            env={**os.environ, "COLUMNS": "80"},  # as wide as the README shows it
            stdout=subprocess.PIPE,
            text=True,
        ) as process:
            for line in process.stdout:
                print(line, end="", flush=True)
                printed += line
        if process.returncode != expected:
            sys.exit(f"exit code {process.returncode}, expected {expected}: {command}")
    return printed


def run_example(code):
    """Run a Python block and return what it prints."""
    print("python example of the README", flush=True)
    python = str(ROOT / ".venv" / "bin" / "python")
    done = subprocess.run(
        [python, "-c", code], cwd=ROOT, check=False, capture_output=True, text=True
    )
    if done.returncode:
        sys.exit(done.stderr)
    return done.stdout


def main():
    """Run them all."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for language, block, printed in blocks(text):
        if language == "python":
            output = run_example(block)
            lacking = printed if output.split() != printed.split() else None
        else:
            output = run_commands(block)
            lacking = missing(printed, output) if printed else None
        if lacking is not None:
            sys.exit(f"README says\n{lacking}\nbut the output has no such lines")


if __name__ == "__main__":
    main()
