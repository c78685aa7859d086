"""``spokecheck new``: a design file from a few words of the trade."""

from pathlib import Path
from typing import Annotated

import typer

from spokecheck.cli.console import out, reported
from spokecheck.errors import InputError


def new(
    file: Annotated[Path, typer.Argument(help="Design file to write.")],
    rim: Annotated[str, typer.Option(help="Rim designation, such as '8J x 18'.")],
    bolts: Annotated[
        str, typer.Option(help="Number and pitch circle [mm], such as 5x112.")
    ],
    rating: Annotated[float, typer.Option(help="Maximum load of the wheel [kg].")],
    spokes: Annotated[int, typer.Option(help="Number of spokes or windows.")] = 5,
    pattern: Annotated[
        str, typer.Option(help="straight, twin, forked, swept, lattice, plate, course.")
    ] = "straight",
    alloy: Annotated[
        str, typer.Option(help="Alloy, from 'spokecheck alloys'.")
    ] = "a356-t6-low-pressure",
    inset: Annotated[
        float | None, typer.Option(help="Inset [mm]; else by proportion.")
    ] = None,
    bore: Annotated[
        float | None, typer.Option(help="Centre bore [mm]; else by proportion.")
    ] = None,
    tyre: Annotated[
        str | None, typer.Option(help="Largest tyre, such as '225/45R18'.")
    ] = None,
) -> None:
    """Write a design file that can be drawn and screened, all defaults as comments."""
    from spokecheck.wheel.starter import Words, starter_file

    words = Words(
        rim=rim,
        bolts=bolts,
        rating_kg=rating,
        spokes=spokes,
        pattern=pattern,
        alloy=alloy,
        inset_mm=inset,
        bore_mm=bore,
        tyre=tyre,
        name=file.stem,
    )
    with reported():
        text = starter_file(words, str(file))
        _write(file, text)
    out.print(str(file), highlight=False, soft_wrap=True)


def _write(file: Path, text: str) -> None:
    """Write a file that is not there yet, or says the same.

    Raises
    ------
    InputError
        If another is there, or it cannot be written.
    """
    try:
        if file.is_file() and file.read_text(encoding="utf-8") == text:
            return
        with file.open("x", encoding="utf-8") as stream:
            stream.write(text)
    except FileExistsError as error:
        raise InputError(f"{file}: is there already; give another name") from error
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{file}: cannot be written ({error})") from error
