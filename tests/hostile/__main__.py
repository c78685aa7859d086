"""Run as many mutated files as asked, and say what did not hold."""

import argparse
import tempfile
from pathlib import Path
from time import perf_counter

from tests.hostile.cases import SHARES, run_cases


def main():
    """Run the cases of the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.hostile")
    parser.add_argument("--cases", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", choices=list(SHARES))
    parser.add_argument("--keep", type=Path, help="folder for the files with faults")
    asked = parser.parse_args()
    since = perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        counts, found = run_cases(asked.cases, asked.seed, folder, asked.kind)
    for number, _, content in found if asked.keep else ():
        asked.keep.mkdir(parents=True, exist_ok=True)
        (asked.keep / f"{number}.toml").write_bytes(content)
    seconds = perf_counter() - since
    print(f"{asked.cases} cases in {seconds:.0f} s {counts}: {len(found)} with faults")
    raise SystemExit(bool(found))


if __name__ == "__main__":
    main()
