"""Run the command line as ``python -m spokecheck``."""

from spokecheck.cli import main

if __name__ == "__main__":
    main()
