"""Which mesh file goes with which sidecar file; needs the standard library only."""

import glob
import os
from contextlib import suppress
from functools import partial
from pathlib import Path

from spokecheck.errors import DesignError, InputError
from spokecheck.toml_file import parse_toml, read_text

SIDECAR = ".toml"

HALVES = {".ele": ".node", ".node": ".ele"}
"""Formats of two files, cells and points."""

BESIDE = {".xml": ("_*.xml",), ".xdmf": (".h5", "*.bin"), ".xmf": (".h5", "*.bin")}
"""Other files that formats refer to, behind the name without suffix."""


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
    if not os.path.isfile(mesh):
        raise InputError(f"--mesh {mesh}: no such file; check the path")
    if not os.path.isfile(beside):
        raise InputError(
            f"{mesh}: no sidecar file {beside}; write one, or name it with "
            "--sidecar (README, 'A wheel from elsewhere')"
        )
    return beside


def mesh_files(mesh: Path) -> list[Path]:
    """All files that a mesh is read from, the one that is named first.

    Some formats keep points or named groups in files of their own.

    Examples
    --------
    >>> [path.name for path in mesh_files(Path("a/wheel.ele"))]
    ['wheel.ele', 'wheel.node']
    """
    suffix = mesh.suffix.lower()
    if suffix in HALVES:
        return [mesh, mesh.with_suffix(HALVES[suffix])]
    patterns = BESIDE.get(suffix, ())
    stem = glob.escape(mesh.stem)
    others = {p for pattern in patterns for p in mesh.parent.glob(stem + pattern)}
    return [mesh, *sorted(others - {mesh})]


def files_of(brief: Path, mesh: Path | None) -> list[Path]:
    """All files a wheel is read from: the design, or the sidecar and its mesh.

    A sidecar that cannot be read is left to the reader, which says why; a pipe is not
    emptied.
    """
    if mesh is not None:
        return [brief, *mesh_files(mesh)]
    if not os.path.isfile(brief):
        return [brief]
    failure = partial(DesignError, str(brief))
    with suppress(InputError, ValueError, AttributeError, TypeError):
        raw = parse_toml(read_text(brief, failure), failure)
        if "mesh" in raw:
            return [brief, *mesh_files(paired_mesh(brief, raw["mesh"].get("file")))]
    return [brief]
