"""Run the shell commands of README.md word for word; stop at the first failure.

A command whose line is followed by ``# exit code N`` must end with that code.
"""

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BLOCK = re.compile(r"^```sh\n(.*?)^```", re.DOTALL | re.MULTILINE)
EXPECTED = re.compile(r"#.*exit code (\d+)")


def commands(text):
    """Yield the commands of all ``sh`` blocks with the exit code each must give."""
    for block in BLOCK.findall(text):
        for line in block.replace("\\\n", " ").splitlines():
            if line.strip() and not line.startswith("#"):
                found = EXPECTED.search(line)
                yield line, int(found[1]) if found else 0


def main():
    """Run them all."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for command, expected in commands(text):
        print(f"$ {command}", flush=True)
        code = subprocess.run(["bash", "-c", command], cwd=ROOT, check=False).returncode
        if code != expected:
            sys.exit(f"exit code {code}, expected {expected}: {command}")


if __name__ == "__main__":
    main()
