"""What a screening finds: one versioned record of plain numbers, words and tuples.

Its fields are the keys of the JSON, so their names carry the units.
Terminal, page, JUnit, comparison and cache read it; no array is in it, and no path,
date or wall time, so the same input gives the same record.
"""

from dataclasses import dataclass, field
from typing import Literal

from spokecheck.screen.impact_findings import ImpactIndication
from spokecheck.screen.json_numbers import (
    Audit,
    Derivation,
    FileTables,
    Length,
    LifeRange,
    Number,
    Share,
    Stress,
)
from spokecheck.screen.run_findings import ConvergenceFindings, Judgement, RunOptions
from spokecheck.screen.verdict import Verdict
from spokecheck.screen.wheel_findings import MeshRequirements, WheelFindings

# History of the format; the number rises when a reader would misread a new file.
# 1: first form.
# 2: renamed: beside to other_criteria, told to note, passes to meshes, most_passes to
#    most_meshes, label to test, squeezed_fillets to reduced_radii, mesh_contract to
#    mesh_requirements. options.overrides for procedures and half_angle_deg. Every test
#    has moment_n_mm and force_n, one of them null; a drawn wheel's origin has all keys.
# 3: wheel.departures in place of wheel.reduced_radii and wheel.drawing_moves_mm.
FORMAT = 3


@dataclass(frozen=True, kw_only=True)
class NotchSupport:
    """What notch support did at a hot spot.

    Attributes
    ----------
    method : str
        ``point``, ``line`` or ``fkm``.
    factor : float
        Corrected over uncorrected margin.
    note : str
        How it was found, or why it was not.
    """

    method: str
    factor: Number
    note: str


@dataclass(frozen=True, kw_only=True)
class OtherCriterion:
    """Another criterion at a hot spot; no part of the ranking.

    Attributes
    ----------
    criterion : str
        Such as ``Crossland``.
    margin : float or None
        Inverse of how far the stress fills the criterion at the required cycles; None
        where it does not fill it at all.
    note : str
        Its form and constants.
    """

    criterion: str
    margin: Number | None
    note: str


@dataclass(frozen=True, kw_only=True)
class SpotMesh:
    """The mesh at a hot spot.

    Attributes
    ----------
    edge_mm : float
        Mean edge length of the faces that meet there.
    edges_per_quarter : float or None
        Edges over a quarter arc; None on a flat.
    wall_mm : float or None
        Thickness of the wall; None if the way through it leads through a cut.
    layers : int or None
        Layers of cells through the wall.
    short : tuple of str
        Requirements the mesh does not meet there.
    """

    edge_mm: Length
    edges_per_quarter: Number | None
    wall_mm: Number | None
    layers: int | None
    short: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SimilarPlaces:
    """Places of one kind that no symmetry makes equal.

    Attributes
    ----------
    places : int
        Distinct ones found high enough to be listed, the worst included.
    highest_margin : float
        Of the best of them.
    """

    places: int
    highest_margin: Number


@dataclass(frozen=True, kw_only=True)
class HotSpot:
    """A place where a crack would start first.

    Attributes
    ----------
    rank : int
        From 1, worst margin first, over all tests.
    test : str
        Test and level, such as ``cornering 75 %``.
    margin : float
        Allowable over equivalent amplitude.
    place : str
        In plain words.
    surface : str
        Drawn surface.
    node : int
        Point of the mesh.
    position_mm : tuple of float
        x, y, z.
    radius_mm : float
        Distance from the axle.
    copies : int
        Places equal to this one by a symmetry of the wheel, itself included.
    similar : SimilarPlaces or None
        Places that lie to their spokes alike without being equal, if there are any;
        this is the worst of them.
    alloy : str
    amplitude_mpa, mean_mpa, equivalent_mpa, allowable_mpa : float
        See ``fatigue.assess``.
    von_mises_mpa : float
        Greatest von Mises stress over the turn.
    life_median_cycles, life_at_survival_cycles : float or None
        None outside the S-N line; the ``..._range`` says on which side.
    survival : float
        Probability to survive the required cycles, from the S-N line's scatter alone.
    margin_uncorrected : float
        Margin without notch support; equal to ``margin`` unless the design asks for it.
    support : NotchSupport or None
        What the notch support did, if the design asks for it.
    other_criteria : tuple of OtherCriterion
        If asked for.
    stress_error : float
        Error bar of the equivalent amplitude, relative: by the grid convergence index
        of the meshes on which the place was refined, or the estimate of one mesh.
    meshes : int
        Meshes on which the place was refined, the first one included.
    mesh : SpotMesh
    audit : tuple of AuditLine
        The whole calculation.
    """

    rank: int
    test: str
    margin: Number
    place: str
    surface: str
    node: int
    position_mm: tuple[Length, Length, Length]
    radius_mm: Number
    copies: int
    similar: SimilarPlaces | None
    alloy: str
    amplitude_mpa: Stress
    mean_mpa: Stress
    equivalent_mpa: Stress
    allowable_mpa: Number
    von_mises_mpa: Stress
    life_median_cycles: Number | None
    life_median_range: LifeRange
    life_at_survival_cycles: Number | None
    life_at_survival_range: LifeRange
    survival: Share
    margin_uncorrected: Number
    support: NotchSupport | None
    other_criteria: tuple[OtherCriterion, ...]
    stress_error: Share
    meshes: int
    mesh: SpotMesh
    audit: Audit = field(repr=False)

    @property
    def least_margin(self) -> float:
        """Margin at the upper end of the error bar."""
        return self.margin / (1.0 + self.stress_error)


@dataclass(frozen=True, kw_only=True)
class ZoneFindings:
    """The worst place of one alloy's part of the wheel, without notch support.

    Attributes
    ----------
    zone : str
        ``hub and spokes`` or ``rim``.
    alloy : str
    margin : float
    life_median_cycles : float or None
    survival : float
        As for a hot spot.
    place : str
    """

    zone: str
    alloy: str
    margin: Number
    life_median_cycles: Number | None
    life_median_range: LifeRange
    survival: Share
    place: str


@dataclass(frozen=True, kw_only=True)
class Sensitivity:
    """The worst margin of a test under another assumption of the load model.

    Attributes
    ----------
    assumption : str
        Such as ``patch half-angle``.
    value : float
    unit : str
    margin : float
        Least margin over the hot spots listed, without notch support.
    place : str
    """

    assumption: str
    value: Number
    unit: str
    margin: Number
    place: str


@dataclass(frozen=True, kw_only=True)
class Excluded:
    """Points left out by a named rule.

    Attributes
    ----------
    rule : str
    points : int
    highest_utilisation : float
        Among these points.
    place : str
        Where that is.
    """

    rule: str
    points: int
    highest_utilisation: Number
    place: str


@dataclass(frozen=True, kw_only=True)
class TestFindings:
    """One test at one level.

    Attributes
    ----------
    name : str
        Such as ``cornering 75 %``.
    procedure, test : str
        Identifier of the procedure; ``cornering`` or ``radial``.
    moment_n_mm, force_n : float or None
        Load; the one that the test has.
    cycles : float
        Required.
    margin : float
    verdict : Verdict
    place : str
        Of its worst hot spot.
    hot_spot_ranks : tuple of int
        Its hot spots, worst first.
    derivation : tuple of Sourced
        Every number from the design and the clause to load and cycles.
    unsure : tuple of str
        Symbols of those whose basis is unsure.
    excluded : tuple of Excluded
    notes : tuple of str
        Remarks on the model.
    warnings : tuple of str
        Where the calculation leaves the range it was made for.
    zones : tuple of ZoneFindings
    sensitivities : tuple of Sensitivity
    balance_misfit : float
        Misfit of forces and moments, a share of the load.
    """

    __test__ = False  # not a test class, whatever pytest thinks of its name

    name: str
    procedure: str
    test: Literal["cornering", "radial"]
    moment_n_mm: Number | None
    force_n: Number | None
    cycles: Number
    margin: Number
    verdict: Verdict
    place: str
    hot_spot_ranks: tuple[int, ...]
    derivation: Derivation
    unsure: tuple[str, ...]
    excluded: tuple[Excluded, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    zones: tuple[ZoneFindings, ...]
    sensitivities: tuple[Sensitivity, ...]
    balance_misfit: Share


@dataclass(frozen=True, kw_only=True)
class Findings:
    """Everything a screening of one design found.

    Attributes
    ----------
    format : int
        Number of the form; see ``FORMAT``.
    name : str
        Name of the design.
    design : dict
        Tables and keys of the design file, defaults and overrides included.
    wheel : WheelFindings
    verdict : Judgement
    tests : tuple of TestFindings
        In the order of the procedure.
    hot_spots : tuple of HotSpot
        Over all tests, worst margin first.
    impact_indication : ImpactIndication or None
        No part of ranking and verdict; if asked for.
    options : RunOptions
    convergence : ConvergenceFindings
    mesh_requirements : MeshRequirements
    """

    format: int = FORMAT
    name: str
    design: FileTables = field(repr=False)
    wheel: WheelFindings
    verdict: Judgement
    tests: tuple[TestFindings, ...]
    hot_spots: tuple[HotSpot, ...]
    impact_indication: ImpactIndication | None
    options: RunOptions
    convergence: ConvergenceFindings
    mesh_requirements: MeshRequirements

    @property
    def worst(self) -> HotSpot:
        """The hot spot with the smallest margin."""
        return self.hot_spots[0]

    def spots_of(self, test: TestFindings) -> tuple[HotSpot, ...]:
        """Hot spots of one test, worst first."""
        return tuple(self.hot_spots[rank - 1] for rank in test.hot_spot_ranks)
