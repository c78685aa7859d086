"""What a screening returns: its findings, and the fields behind them."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from spokecheck.screen.findings import Findings
from spokecheck.screen.hotspots import Surface
from spokecheck.units import FloatArray
from spokecheck.wheel.build import Wheel


@dataclass(frozen=True)
class Fields:
    """The finest mesh and what was found at its points, for pictures and viewers.

    Attributes
    ----------
    wheel : Wheel
        Meshed wheel, with its design.
    surface : Surface
        Its outer surface.
    utilisation : mapping of str to ndarray (n_nodes,)
        At the surface points, by test, excluded points included.
    """

    wheel: Wheel
    surface: Surface
    utilisation: Mapping[str, FloatArray] = field(repr=False)


@dataclass(frozen=True)
class Screening:
    """A screening of one design.

    Attributes
    ----------
    findings : Findings
        What was found, without arrays.
    fields : Fields
        Mesh, surface and utilisation.
    seconds : dict of str to float
        Wall time by stage; no part of the findings, which are the same for the same
        input.
    """

    findings: Findings
    fields: Fields
    seconds: dict[str, float] = field(repr=False)

    @property
    def wheel(self) -> Wheel:
        """Meshed wheel, with its design."""
        return self.fields.wheel
