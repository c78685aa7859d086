"""What a screening finds, as plain records that reports can print without thinking."""

from dataclasses import dataclass, field

from spokecheck.cases.loadcase import Assumption
from spokecheck.cases.procedure import Requirement
from spokecheck.fatigue.audit import AuditLine
from spokecheck.screen.adapt import Convergence
from spokecheck.screen.hotspots import FirstMeshValues, Surface
from spokecheck.screen.impact_indication import ImpactIndication
from spokecheck.screen.request import Request
from spokecheck.screen.verdict import Verdict
from spokecheck.units import FloatArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.meshing.mesh_check import LocalMesh


@dataclass(frozen=True)
class NotchSupport:
    """What notch support did at a hot spot.

    Attributes
    ----------
    method : str
        ``point``, ``line`` or ``fkm``.
    factor : float
        Corrected over uncorrected margin.
    told : str
        How it was found, or why it was not.
    lines : tuple of AuditLine
        Its part of the calculation, ahead of that of the spot.
    """

    method: str
    factor: float
    told: str
    lines: tuple[AuditLine, ...] = field(default=(), repr=False)


@dataclass(frozen=True)
class OtherCriterion:
    """Another criterion at a hot spot; no part of the ranking.

    Attributes
    ----------
    name : str
        Such as ``Crossland``.
    margin : float
        Inverse of how far the stress fills the criterion at the required cycles.
    told : str
        Its form and constants.
    """

    name: str
    margin: float
    told: str


@dataclass(frozen=True)
class Zone:
    """The worst place of one alloy's part of the wheel, without notch support.

    Attributes
    ----------
    name : str
        ``hub and spokes`` or ``rim``.
    alloy : str
    margin, life_median, survival : float
        As for a hot spot; cycles, and a probability at the required cycles.
    place : str
    """

    name: str
    alloy: str
    margin: float
    life_median: float
    survival: float
    place: str


@dataclass(frozen=True)
class Sensitivity:
    """The worst margin of a test under another assumption of the load model.

    Attributes
    ----------
    assumption : Assumption
        Such as a patch half-angle of 30 degrees.
    margin : float
        Least margin over the hot spots listed, without notch support.
    place : str
        Where.
    """

    assumption: Assumption
    margin: float
    place: str


@dataclass(frozen=True)
class HotSpot:
    """A place where a crack would start first.

    Attributes
    ----------
    requirement : str
        Test and level, such as ``cornering 75 %``.
    place : str
        In plain words.
    surface : str
        Drawn surface.
    node : int
        Point of the mesh.
    position : tuple of float
        x, y, z [mm].
    copies : int
        Places that lie to their spoke as this one does; this is the worst of them.
    alloy : str
        Alloy there.
    amplitude, mean, equivalent, allowable : float
        [MPa]; see ``fatigue.assess``.
    margin : float
        Allowable over equivalent amplitude.
    life_median, life_at_survival : float
        [cycles]; infinite beyond the last cycle of the S-N line.
    von_mises : float
        Greatest von Mises stress over the turn [MPa].
    stress_error : float
        Error bar of the stress, relative: from the move in the last refinement, or from
        the jump between cells where nothing was refined; see ``bars``.
    edge : float
        Edge length of the mesh there [mm].
    survival : float
        Probability to survive the required cycles, from the S-N line's scatter alone.
    margin_uncorrected : float
        Margin without notch support; equal to ``margin`` unless the design asks for it.
    support : NotchSupport or None
        What the notch support did, if asked for.
    audit : tuple of AuditLine
        The whole calculation.
    beside : tuple of OtherCriterion
        Other criteria, if asked for.
    local : LocalMesh or None
        How fine the mesh is there.
    """

    requirement: str
    place: str
    surface: str
    node: int
    position: tuple[float, float, float]
    copies: int
    alloy: str
    amplitude: float
    mean: float
    equivalent: float
    allowable: float
    margin: float
    life_median: float
    life_at_survival: float
    von_mises: float
    stress_error: float
    edge: float
    survival: float
    margin_uncorrected: float
    support: NotchSupport | None = field(repr=False)
    audit: tuple[AuditLine, ...] = field(repr=False)
    beside: tuple[OtherCriterion, ...] = field(default=(), repr=False)
    local: LocalMesh | None = field(default=None, repr=False)

    @property
    def radius(self) -> float:
        """Distance from the axle [mm]."""
        x, y, _ = self.position
        return float((x * x + y * y) ** 0.5)


@dataclass(frozen=True)
class Excluded:
    """Points left out by a named rule.

    Attributes
    ----------
    rule : str
        Name of the rule.
    points : int
        How many points it left out.
    highest : float
        Highest utilisation among them.
    place : str
        Where that is.
    """

    rule: str
    points: int
    highest: float
    place: str


@dataclass(frozen=True)
class TestResult:
    """One test at one level.

    Attributes
    ----------
    requirement : Requirement
        Load, cycles and their derivation.
    spots : tuple of HotSpot
        Worst first.
    excluded : tuple of Excluded
    notes : tuple of str
        What has to be said about the model.
    balance : float
        Misfit of forces and moments, a share of the load.
    utilisation : ndarray (n_nodes,)
        On the surface points; excluded ones included.
    first_mesh : FirstMeshValues
        The same on the first mesh.
    zones : tuple of Zone
    sensitivities : tuple of Sensitivity
    warnings : tuple of str
        Where the calculation leaves the ground it was made for.
    """

    __test__ = False  # not a test class, whatever pytest thinks of its name

    requirement: Requirement
    spots: tuple[HotSpot, ...]
    excluded: tuple[Excluded, ...]
    notes: tuple[str, ...]
    balance: float
    utilisation: FloatArray = field(repr=False)
    first_mesh: FirstMeshValues = field(repr=False)
    zones: tuple[Zone, ...] = ()
    sensitivities: tuple[Sensitivity, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def margin(self) -> float:
        """Margin of the worst hot spot; infinite if no point is stressed."""
        return self.spots[0].margin if self.spots else float("inf")


@dataclass(frozen=True)
class Screening:
    """Everything a screening of one design found.

    Attributes
    ----------
    wheel : Wheel
        Meshed wheel, with its design.
    surface : Surface
        Its outer surface.
    tests : tuple of TestResult
        In the order of the procedure.
    spots : tuple of HotSpot
        Over all tests, worst margin first.
    verdict : Verdict
    seconds : dict of str to float
        Wall time by stage; not part of the JSON, which is the same for the same input.
    request : Request
        How it was screened.
    convergence : Convergence
        How the hot spots moved from pass to pass.
    impact : ImpactIndication or None
        Beside ranking and verdict, if asked for.
    """

    wheel: Wheel
    surface: Surface
    tests: tuple[TestResult, ...]
    spots: tuple[HotSpot, ...]
    verdict: Verdict
    seconds: dict[str, float] = field(repr=False)
    request: Request
    convergence: Convergence
    impact: ImpactIndication | None = field(default=None, repr=False)

    @property
    def name(self) -> str:
        """Name of the design."""
        return self.wheel.design.name

    @property
    def worst(self) -> HotSpot:
        """The hot spot with the smallest margin."""
        return self.spots[0]
