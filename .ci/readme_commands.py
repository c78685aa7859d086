"""Run the commands and examples of README.md word for word; stop at the first failure.

A command whose line is followed by ``# exit code N`` must end with that code.
"""

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BLOCK = re.compile(r"^```sh\n(.*?)^```", re.DOTALL | re.MULTILINE)
PYTHON = re.compile(
    r"^```python\n(.*?)^```\n+It prints\n+^```\n(.*?)^```", re.DOTALL | re.MULTILINE
)
EXPECTED = re.compile(r"#.*exit code (\d+)")


def commands(text):
    """Yield the commands of all ``sh`` blocks with the exit code each must give."""
    for block in BLOCK.findall(text):
        for line in block.replace("\\\n", " ").splitlines():
            if line.strip() and not line.startswith("#"):
                found = EXPECTED.search(line)
                yield line, int(found[1]) if found else 0


def examples(text):
    """Yield each Python block that is followed by what it prints, and that text."""
    yield from PYTHON.findall(text)


def run_example(code, printed):
    """Run a Python block and hold its output against what the README says it prints."""
    python = ROOT / ".venv" / "bin" / "python"
    done = subprocess.run(
        [str(python), "-c", code], cwd=ROOT, check=False, capture_output=True, text=True
    )
    if done.stdout.split() != printed.split():
        sys.exit(f"README says\n{printed}\nbut got\n{done.stdout}{done.stderr}")


def main():
    """Run them all."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for command, expected in commands(text):
        print(f"$ {command}", flush=True)
        code = subprocess.run(["bash", "-c", command], cwd=ROOT, check=False).returncode
        if code != expected:
            sys.exit(f"exit code {code}, expected {expected}: {command}")
    for code, printed in examples(text):
        print("python example of the README", flush=True)
        run_example(code, printed)


if __name__ == "__main__":
    main()
