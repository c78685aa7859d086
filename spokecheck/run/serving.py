"""Which stored runs serve a request: its own, and those that hold more than it asks."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from spokecheck.run.cache import Store, key_of
from spokecheck.run.stored import Screened, recall
from spokecheck.screen.request import Request


def recall_serving(
    store: Store | None,
    path: Path,
    request: Request,
    around: str,
    out_dir: Path,
    stem: str,
) -> Screened | None:
    """Write the files of a stored run that serves a request, and return what it gave.

    Parameters
    ----------
    store : Store or None
        Where entries lie.
    path : Path
        Design file.
    request : Request
        What is asked for.
    around : str
        From ``surroundings``.
    out_dir, stem : Path, str
        Folder and file name, without suffix, of the files.

    Returns
    -------
    Screened or None
        None if there is no such run.

    Raises
    ------
    InputError
        If the files cannot be written.
    """
    if store is None:
        return None
    for serving in that_serve(request):
        key = key_of(path, serving, around)
        if key is None:
            return None
        screened = recall(store, key, out_dir, stem, request.vtu)
        if screened is not None:
            return screened
    return None


def that_serve(request: Request) -> Iterator[Request]:
    """Requests whose stored runs hold all that this one asks for, itself first.

    A run that drew pictures or wrote a VTU has the same numbers as one that did not.
    """
    for drawn in sorted({request.pictures, True}):
        for written in sorted({request.vtu, True}):
            yield replace(request, pictures=drawn, vtu=written)
