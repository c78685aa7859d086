"""Results of earlier runs, kept under a fingerprint of all that can change them.

Decided before anything heavy is imported: this module needs the standard library only.
The fingerprint covers the bytes of the design file and of a procedure file, every
choice of the request, the package's own files, the versions of the libraries that
compute or draw, Python, and the kind of machine.
An entry is one zip archive with a manifest; whatever is wrong with it, it counts as not
there.
Nothing in it is executed, so a foreign entry can mislead but not run.
"""

import hashlib
import json
import os
import platform
import sys
import tempfile
import time
import zipfile
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from spokecheck.screen.request import Request
from spokecheck.wheel.elsewhere.paired_files import files_of

FORMAT = 1
"""Rises when an entry is laid out in another way."""

MOST_BYTES = 1 << 30
"""All entries together [bytes]; those not used for longest go first."""

STALE_PART = 86400.0
"""Seconds after which a half-written entry is a crashed process's."""

LIBRARIES = (
    "gmsh",
    "jinja2",
    "markupsafe",
    "matplotlib",
    "meshio",
    "numpy",
    "pillow",
    "pydantic",
    "pymetis",
    "pyvista",
    "scipy",
    "shapely",
    "vtk",
)
"""Those whose version can change a number, a page or a picture."""

PACKAGE = Path(__file__).resolve().parents[1]
MANIFEST = "manifest.json"
PREFIX, SUFFIX, PART = "spokecheck-", ".zip", ".part"


def default_folder() -> Path | None:
    """The user's cache folder for this program; None where a user has no home."""
    named = {"win32": "LOCALAPPDATA"}.get(sys.platform, "XDG_CACHE_HOME")
    if os.environ.get(named):
        return Path(os.environ[named]) / "spokecheck"
    below = "Library/Caches" if sys.platform == "darwin" else ".cache"
    try:
        return Path.home() / below / "spokecheck"
    except RuntimeError:
        return None


def surroundings(package: Path = PACKAGE) -> str:
    """Fingerprint of what computes: package, libraries, Python, kind of machine.

    Parameters
    ----------
    package : Path
        Folder whose files are the program and its data.
    """
    digest = hashlib.sha256()
    for path in sorted(package.rglob("*")):
        if path.is_file() and "__pycache__" not in path.parts:
            name = path.relative_to(package).as_posix()
            digest.update(f"{name}\0{_digest(path)}\n".encode())
    parts = {
        "package": digest.hexdigest(),
        "versions": {name: _version(name) for name in ("spokecheck", *LIBRARIES)},
        "python": sys.version,
        "machine": [sys.platform, platform.machine()],
    }
    return hashlib.sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()


def key_of(design: Path, request: Request, around: str) -> str | None:
    """Fingerprint of one run.

    Parameters
    ----------
    design : Path
        Design file.
    request : Request
        All choices of the run.
    around : str
        From ``surroundings``.

    Returns
    -------
    str or None
        None if a file cannot be read again, such as a pipe or a missing one.

    Notes
    -----
    Every field of the request that is a path counts with the content of that file; so
    does the mesh of a sidecar, and its name, which reports give.
    """
    choices = asdict(request)
    files = {"": design, **{k: v for k, v in choices.items() if isinstance(v, Path)}}
    meshes = files_of(design, request.mesh)[1:]
    files |= {"mesh" if not k else f"mesh {k}": path for k, path in enumerate(meshes)}
    try:
        if not all(os.path.isfile(path) for path in files.values()):
            return None
        contents = {name: _digest(path) for name, path in files.items()}
    except OSError:
        return None
    choices = {name: value for name, value in choices.items() if name not in files}
    everything = {
        "format": FORMAT,
        "around": around,
        "files": contents,
        "names": [path.name for path in meshes],
        "choices": choices,
    }
    return hashlib.sha256(json.dumps(everything, sort_keys=True).encode()).hexdigest()


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "absent"


@dataclass(frozen=True)
class Store:
    """A folder of entries, safe to share between processes.

    Attributes
    ----------
    folder : Path
        Made when first written to.
        Files in it that are not entries are left alone.
    most_bytes : int
        Bound for all entries together.
    """

    folder: Path
    most_bytes: int = MOST_BYTES

    def get(self, key: str) -> dict[str, bytes] | None:
        """Files of an entry by name; None if it is not there or not whole."""
        path = self._path(key)
        try:
            with zipfile.ZipFile(path) as archive:
                manifest = json.loads(archive.read(MANIFEST))
                if (manifest["format"], manifest["key"]) != (FORMAT, key):
                    return None
                files = {name: archive.read(name) for name in manifest["sha256"]}
                for name, content in files.items():
                    if manifest["sha256"][name] != hashlib.sha256(content).hexdigest():
                        return None
        except Exception:  # a bad archive can fail in any way; it is never the user's
            return None
        with suppress(OSError):  # used now; a folder that is read-only stays as it is
            os.utime(path)
        return files

    def put(self, key: str, files: Mapping[str, bytes]) -> None:
        """Keep files under a key, whole or not at all, and drop the oldest entries.

        Raises
        ------
        OSError
            If the folder cannot be written to.
        """
        self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        hashes = {
            name: hashlib.sha256(data).hexdigest() for name, data in files.items()
        }
        manifest = json.dumps({"format": FORMAT, "key": key, "sha256": hashes})
        handle, name = tempfile.mkstemp(PART, PREFIX, self.folder)
        part = Path(name)
        try:
            with (
                os.fdopen(handle, "wb") as raw,
                zipfile.ZipFile(
                    raw, "w", zipfile.ZIP_DEFLATED, compresslevel=1
                ) as zipped,
            ):
                zipped.writestr(MANIFEST, manifest)
                for member, data in files.items():
                    zipped.writestr(member, data)
            os.replace(part, self._path(key))
        finally:
            part.unlink(missing_ok=True)
        self._trim()

    def _path(self, key: str) -> Path:
        return self.folder / f"{PREFIX}{key}{SUFFIX}"

    def _trim(self) -> None:
        """Drop entries, least recently used first, until the bound holds."""
        total = 0
        aged = [(*_age(path), path) for path in self.folder.glob(f"{PREFIX}*{SUFFIX}")]
        for _, size, path in sorted(aged, reverse=True):
            total += size
            if total > self.most_bytes:
                with suppress(OSError):
                    path.unlink()
        for path in self.folder.glob(f"{PREFIX}*{PART}"):
            if time.time() - _age(path)[0] > STALE_PART:
                with suppress(OSError):
                    path.unlink()


def _age(path: Path) -> tuple[float, int]:
    """Time of last use and size; another process may have removed the file."""
    try:
        found = path.stat()
    except OSError:
        return time.time(), 0
    return found.st_mtime, found.st_size
