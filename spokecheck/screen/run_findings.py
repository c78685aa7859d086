"""Findings on the run itself, as the JSON has them: options, meshes, verdict."""

from dataclasses import dataclass

from spokecheck.screen.json_numbers import FileTables, Length, Number, Share, Stress
from spokecheck.screen.verdict import Verdict


@dataclass(frozen=True, kw_only=True)
class Judgement:
    """The verdict, with its rule and the hot spot it hangs on.

    Attributes
    ----------
    word : Verdict
    rule : str
        Its threshold in words.
    clears_from_margin : float
    worst_margin, worst_test, worst_place, worst_copies
        Of the first hot spot.
    worst_margin_less_bar : float
        Least margin over all hot spots, each at the upper end of its error bar.
    """

    word: Verdict
    rule: str
    clears_from_margin: float
    worst_margin: Number
    worst_margin_less_bar: Number
    worst_test: str
    worst_place: str
    worst_copies: int


@dataclass(frozen=True, kw_only=True)
class RunOptions:
    """How it was screened.

    Attributes
    ----------
    fineness : float
        2 halves every edge.
    tolerance : float
        Largest relative error bar of a place that must settle.
    places : int
        How many must settle, besides all that might be worse.
    most_meshes, most_unknowns : int
        Where refinement ends at the latest.
    overrides : dict
        Values given on the command line in place of the design file's, by key.
    """

    fineness: Number
    tolerance: Number
    places: int
    most_meshes: int
    most_unknowns: int
    overrides: FileTables


@dataclass(frozen=True, kw_only=True)
class SpotOnMesh:
    """A hot spot on one of the meshes.

    Attributes
    ----------
    test : str
    equivalent_mpa : float
    edge_mm : float
    move : float or None
        Relative change by its last refinement; None if there was none.
    bar : float
        Relative error bar on this mesh.
    """

    test: str
    equivalent_mpa: Stress
    edge_mm: Length
    move: Number | None
    bar: Share


@dataclass(frozen=True, kw_only=True)
class MeshStep:
    """One of the meshes tried: its unknowns and first hot spots, worst first."""

    unknowns: int
    hot_spots: tuple[SpotOnMesh, ...]


@dataclass(frozen=True, kw_only=True)
class ConvergenceFindings:
    """How the hot spots in question changed from mesh to mesh.

    Attributes
    ----------
    settled : bool
        Whether their error bars are no wider than the tolerance at the end.
    reason : str
        Why refinement ended.
    held_edge : float
        Largest relative change of one of them when the last mesh was solved as a whole.
    meshes : tuple of MeshStep
    """

    settled: bool
    reason: str
    held_edge: Number
    meshes: tuple[MeshStep, ...]
