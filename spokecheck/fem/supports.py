"""What holds a body: prescribed displacements along any direction, by name or by place.

Every support adds, at each of its points, some unit directions d and values g with
``d . u = g``.
Points held along the axes keep the axes; others get a frame of their own, so that what
is held is always one component.

References
----------
Cook, Malkus, Plesha, Witt, Concepts and Applications of Finite Element Analysis,
4th ed., sec. 13.1 and 8.3 (constraints, skew supports; from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.loads import VectorField, sample_faces
from spokecheck.mesh.record import Mesh
from spokecheck.units import BoolArray, FloatArray, IntArray


@dataclass(frozen=True)
class Edge:
    """The line along which two surfaces meet, by their names.

    A load or a support on a line is an idealisation: stress there has no limit, and
    grows with every refinement.  It is right some widths of the true contact away.
    """

    first: str
    second: str


Where = str | Sequence[str] | IntArray | Callable[[FloatArray], BoolArray] | Edge
"""Surface name or names, point numbers, a test of positions (n, 3) -> (n,), or the
edge of two surfaces."""


Vector = Sequence[float] | FloatArray
"""Three numbers."""


AXES = {"x": 0, "y": 1, "z": 2}


@dataclass(frozen=True)
class Support:
    """Prescribed displacement of some points along some directions.

    Attributes
    ----------
    where : Where
        The points.
    directions : ndarray (n_directions, 3) or callable
        Directions held, the same at all points, or one direction (n, 3) as a function
        of position.
    value : ndarray (3,) or callable
        Displacement [mm], of which only the components along ``directions`` count.
    """

    where: Where
    directions: FloatArray | VectorField
    value: FloatArray | VectorField


@dataclass(frozen=True)
class RigidPart:
    """Points that move as one rigid body and carry a force and a moment.

    Attributes
    ----------
    where : Where
        The points.
    centre : sequence of three float
        Point [mm] about which moments and rotations count.
    name : str
        To tell several apart.
    """

    where: Where
    centre: Vector
    name: str = ""


@dataclass(frozen=True)
class Foundation:
    """Springs normal to a surface, ``stiffness`` [N/mm^3] per area."""

    where: str | Sequence[str]
    stiffness: float

    def __post_init__(self) -> None:
        if not self.stiffness > 0.0:
            raise ModelError(
                f"foundation stiffness = {self.stiffness:g} N/mm^3: must be positive"
            )


AnySupport = Support | RigidPart | Foundation


def vector(value: Vector, what: str) -> FloatArray:
    """Three finite numbers as an array.

    Raises
    ------
    ModelError
        If there are not three, or one is not finite; ``what`` names the quantity.
    """
    numbers = np.asarray(value, dtype=float)
    if numbers.shape != (3,) or not np.isfinite(numbers).all():
        raise ModelError(f"{what} = {value}: must be three finite numbers x, y, z")
    return numbers


def fix(where: Where, axes: str = "xyz") -> Support:
    """Hold points along some of the axes."""
    return displace(where, (0.0, 0.0, 0.0), axes)


def displace(where: Where, value: Vector | VectorField, axes: str = "xyz") -> Support:
    """Prescribe the displacement of points along some of the axes.

    Parameters
    ----------
    where : Where
        The points.
    value : sequence of three float, or callable
        Displacement [mm], constant or as a function of position.
    axes : str
        Letters of the axes along which it is prescribed; the others stay free.

    Returns
    -------
    Support

    Raises
    ------
    ModelError
        If a letter is none of x, y, z.
    """
    unknown = sorted(set(axes) - set(AXES))
    if unknown or not axes:
        raise ModelError(
            f"axes = {axes!r}: must be letters out of x, y, z; name what is held"
        )
    rows = np.eye(3)[[AXES[letter] for letter in axes]]
    given = value if callable(value) else vector(value, "displacement")
    return Support(where, rows, given)


def slide(where: Where, normal: Vector | VectorField) -> Support:
    """Hold points along one direction only, the same everywhere or position-wise."""
    if callable(normal):
        return Support(where, normal, np.zeros(3))
    return Support(where, vector(normal, "normal")[None, :], np.zeros(3))


def move_rigidly(
    where: Where,
    centre: Vector,
    shift: Vector = (0.0, 0.0, 0.0),
    rotation: Vector = (0.0, 0.0, 0.0),
) -> Support:
    """Prescribe a small rigid motion: shift [mm] and rotation vector [rad]."""
    about, d, w = (
        vector(centre, "centre"),
        vector(shift, "shift"),
        vector(rotation, "rotation"),
    )
    return displace(where, lambda x: d + np.cross(w, x - about))


def symmetry(mesh: Mesh, name: str) -> Support:
    """Hold a plane surface along its normal, whatever way it faces.

    Parameters
    ----------
    mesh : Mesh
        The body.
    name : str
        A plane surface.

    Returns
    -------
    Support

    Raises
    ------
    ModelError
        If the surface is not plane.
    """
    return slide(name, _plane_normal(mesh, name))


def antisymmetry(mesh: Mesh, name: str) -> Support:
    """Hold a plane surface within its plane, free along its normal.

    One half of a symmetric body under loads that the plane mirrors to their opposite,
    such as torsion.

    Parameters
    ----------
    mesh : Mesh
        The body.
    name : str
        A plane surface.

    Returns
    -------
    Support

    Raises
    ------
    ModelError
        If the surface is not plane.
    """
    normal = _plane_normal(mesh, name)
    # two directions across the normal, first the axis that is nearest to the plane
    first = np.eye(3)[int(np.abs(normal).argmin())]
    first = first - (first @ normal) * normal
    first /= np.linalg.norm(first)
    within = np.array([first, np.cross(normal, first)])
    return Support(name, within, np.zeros(3))


def _plane_normal(mesh: Mesh, name: str) -> FloatArray:
    """Unit normal (3,) of a plane surface."""
    areas = sample_faces(mesh.points, mesh.faces(name)).areas.reshape(-1, 3)
    normal = areas.sum(axis=0)
    share = np.linalg.norm(normal) / np.linalg.norm(areas, axis=1).sum()
    if share < 1.0 - 1e-9:
        raise ModelError(
            f"surface {name}: not plane (mean normal {share:.6f} of full length); "
            "a symmetry plane must be plane, use slide with a function of position"
        )
    return np.asarray(normal / np.linalg.norm(normal))


def near(position: Vector) -> Callable[[FloatArray], BoolArray]:
    """Test that picks the one point nearest to a position [mm]."""
    target = vector(position, "position")

    def nearest(x: FloatArray) -> BoolArray:
        picked = np.zeros(len(x), dtype=bool)
        picked[int(np.argmin(np.linalg.norm(x - target, axis=1)))] = True
        return picked

    return nearest


def select(mesh: Mesh, where: Where) -> IntArray:
    """Sorted point numbers of a selection.

    Raises
    ------
    MeshError
        If a surface name is unknown.
    ModelError
        If nothing is selected.
    """
    if isinstance(where, str):
        nodes = mesh.nodes(where)
    elif isinstance(where, Edge):
        nodes = np.intersect1d(mesh.nodes(where.first), mesh.nodes(where.second))
    elif callable(where):
        nodes = np.flatnonzero(where(mesh.points))
    elif isinstance(where, np.ndarray):
        nodes = np.unique(where)
    else:
        nodes = mesh.nodes(list(where))
    if not len(nodes):
        raise ModelError("selection of points is empty: name a surface or widen it")
    return np.asarray(nodes)
