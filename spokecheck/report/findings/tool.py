"""Name and version of the program, as every output carries them."""

from importlib.metadata import PackageNotFoundError, version

PACKAGE = "spokecheck"


def tool_version() -> str:
    """Version of the installed package."""
    try:
        return version(PACKAGE)
    except PackageNotFoundError:
        return "not installed"
