"""How the loads of the tests follow from a design: a sheet to be checked by hand."""

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from spokecheck.cases.procedure import Requirement
from spokecheck.report import caution, numbers


def render_requirements(
    name: str, requirements: Sequence[Requirement]
) -> RenderableType:
    """Derivation of every load and cycle number.

    Parameters
    ----------
    name : str
        Name of the design.
    requirements : sequence of Requirement
        From ``cases.procedure``.

    Returns
    -------
    rich renderable
    """
    parts: list[RenderableType] = [Text(name, "bold")]
    for requirement in requirements:
        table = Table(box=None, pad_edge=False, header_style="dim")
        for title in ("", "Value", "Unit", "Clause or key", "Basis"):
            side = "right" if title == "Value" else "left"
            table.add_column(title, justify=side, overflow="fold")  # type: ignore[arg-type]
        for line in requirement.derivation:
            table.add_row(
                Text(line.symbol, no_wrap=True),
                numbers.plain(line.value),
                line.unit,
                line.clause,
                line.basis,
            )
        parts += [Text(), Text(requirement.name), table]
    return Group(*parts, Text(), Text(caution.SHORT, "italic"))
