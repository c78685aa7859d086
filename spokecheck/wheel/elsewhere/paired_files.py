"""Which mesh file goes with which sidecar file; needs the standard library only."""

import tomllib
from contextlib import suppress
from pathlib import Path

from spokecheck.errors import InputError

SIDECAR = ".toml"


def paired_mesh(sidecar: Path, name: str | None) -> Path:
    """Mesh file of a sidecar: the one it names, else its own name without ``.toml``.

    Examples
    --------
    >>> paired_mesh(Path("a/wheel.msh.toml"), None).as_posix()
    'a/wheel.msh'
    """
    return sidecar.with_name(name) if name else sidecar.with_suffix("")


def sidecar_of(mesh: Path, sidecar: Path | None) -> Path:
    """Sidecar of a mesh file: the one given, else the one beside it.

    Raises
    ------
    InputError
        If there is none.
    """
    beside = sidecar or mesh.with_name(mesh.name + SIDECAR)
    if not mesh.is_file():
        raise InputError(f"--mesh {mesh}: no such file; check the path")
    if not beside.is_file():
        raise InputError(
            f"{mesh}: no sidecar file {beside}; write one, or name it with "
            "--sidecar (README, 'A wheel from elsewhere')"
        )
    return beside


def files_of(brief: Path, mesh: Path | None) -> list[Path]:
    """All files a wheel is read from: the design, or the sidecar and its mesh.

    A sidecar that cannot be read is left to the reader, which says why; a pipe is not
    emptied.
    """
    if mesh is not None:
        return [brief, mesh]
    if not brief.is_file():
        return [brief]
    with suppress(OSError, ValueError, AttributeError, TypeError):
        raw = tomllib.loads(brief.read_text(encoding="utf-8"))
        if "mesh" in raw:
            return [brief, paired_mesh(brief, raw["mesh"].get("file"))]
    return [brief]
