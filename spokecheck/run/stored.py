"""What a finished run leaves in the cache, and how it is shown again.

An entry holds the findings and the very bytes of every file the run wrote, so terminal,
JUnit, comparison, files and exit code come out as they did.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from spokecheck.errors import InputError
from spokecheck.report.findings.json_report import exact_text, read_exact
from spokecheck.report.whole_files import Written, write_bytes
from spokecheck.run.cache import Store
from spokecheck.screen.findings import Findings

FINDINGS, SMALL = "findings.json", "small.jpg"
JSON, PAGE, VTU = ".json", ".html", ".vtu"


@dataclass(frozen=True)
class Screened:
    """What a run gave for one design.

    Attributes
    ----------
    findings : Findings
    written : Written
    stored : bool
        Whether it was computed earlier.
    """

    findings: Findings
    written: Written
    stored: bool = False


def recall(
    store: Store, key: str, out_dir: Path, stem: str, vtu: bool
) -> Screened | None:
    """Write the files of a stored run again, and return what it gave.

    Parameters
    ----------
    store : Store
        Where entries lie.
    key : str
        Fingerprint of the run.
    out_dir, stem : Path, str
        Folder and file name, without suffix, of the files.
    vtu : bool
        Whether a VTU is among them.

    Returns
    -------
    Screened or None
        None if there is no such entry, or it is not whole.

    Raises
    ------
    InputError
        If the files cannot be written.
    """
    entry = store.get(key)
    suffixes = (JSON, PAGE, VTU) if vtu else (JSON, PAGE)
    if entry is None or not {FINDINGS, *suffixes} <= set(entry):
        return None
    try:
        findings = read_exact(entry[FINDINGS])
    except ValueError:
        return None
    paths = {suffix: out_dir / f"{stem}{suffix}" for suffix in suffixes}
    try:
        for suffix, path in paths.items():
            write_bytes(path, entry[suffix])
    except OSError as failure:
        raise unwritable(failure, out_dir) from failure
    written = Written(paths[JSON], paths[PAGE], paths.get(VTU), entry.get(SMALL))
    return Screened(findings, written, stored=True)


def keep(
    store: Store, key: str, screened: Screened, files: Mapping[str, bytes]
) -> Screened:
    """Store a run.

    Parameters
    ----------
    store : Store
        Where to.
    key : str
        Fingerprint of the run.
    screened : Screened
        What it gave; not stored if something could not be done, such as pictures.
    files : mapping of str to bytes
        Content of each file written, by suffix.

    Returns
    -------
    Screened
        The same, with a note if it could not be stored.
    """
    if screened.written.notes:
        return screened
    entry = {FINDINGS: exact_text(screened.findings).encode("utf-8"), **files}
    if screened.written.small is not None:
        entry[SMALL] = screened.written.small
    try:
        store.put(key, entry)
    except OSError as failure:
        where = failure.filename or store.folder
        note = f"result not stored for the next run: {where}: {failure.strerror}"
        return replace(screened, written=replace(screened.written, notes=(note,)))
    return screened


def unwritable(failure: OSError, out_dir: Path) -> InputError:
    """The error for results that cannot be written."""
    where = failure.filename or out_dir
    return InputError(f"{where}: {failure.strerror or failure}; choose another --out")
