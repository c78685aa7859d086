"""The 13-degree impact as an energy-equivalent static load: an indication, no test.

The drop's energy is put into two springs in a row, the wheel at the strike and the
rig's mounts: ``F^2 (C_wheel + C_mounts) / 2 = D g h``.
The wheel's compliance is linear, the tyre takes nothing, inertia and plastic flow are
left out; the real test is dynamic and plastic, so the figure ranks designs at best.

References
----------
UN Regulation No. 124, Annex 8 (from memory); SAE J175 (2023), read in a secondary
digest; ISO 7141:1981, read in translation: drop mass ``D = 0.6 W + 180 kg``, 230 mm,
wheel axis 13 degrees to the vertical, rubber mounts 7.5 mm under 1000 kg.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.cases.library import Book, chosen
from spokecheck.cases.loadcase import LoadCase
from spokecheck.cases.schema import ImpactTest, pick
from spokecheck.cases.sourced import Sourced
from spokecheck.cases.tyre_patch import Patch
from spokecheck.errors import InputError
from spokecheck.fem.loads import traction_forces
from spokecheck.fem.orders import OrderLoad, Supports, whole_body_resultant
from spokecheck.units import STANDARD_GRAVITY, ComplexArray, FloatArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.tables.design import Brief
from spokecheck.wheel.tables.surface_names import ATTACHMENT, FLANGES

STRUCK = FLANGES["outboard"]
STRIKE_SHARE = 0.99
"""Orders are kept until they carry this share of the strike's mean square: how the
striker spreads its force on the flange is not known better."""


@dataclass(frozen=True)
class Drop:
    """Energy and direction of the fall, and the springs that take it.

    Attributes
    ----------
    procedure : str
        Identifier of the procedure.
    energy : float
        Energy of the fall [N mm].
    angle : float
        Wheel axis to the vertical [rad].
    width : float
        Width of the striker [mm].
    mount_stiffness : float
        Spring of the rig's mounts [N/mm].
    derivation : tuple of Sourced
        Every number it follows from.
    """

    procedure: str
    energy: float
    angle: float
    width: float
    mount_stiffness: float
    derivation: tuple[Sourced, ...]


def drop(design: Brief, procedures: Sequence[str], book: Book) -> Drop:
    """Drop of the first procedure that has an impact test.

    Parameters
    ----------
    design : Brief
        Its load rating and category are used.
    procedures : sequence of str
        Identifiers; those the design names if none is given.
    book : mapping of str to Procedure
        Where to look them up.

    Raises
    ------
    InputError
        If none has one, or it does not cover the vehicle category.
    """
    names = tuple(procedures) or design.duty.procedures
    fitting = drops(design, procedures, book)
    if fitting:
        return fitting[0]
    suitable = ", ".join(name for name, p in book.items() if p.impact is not None)
    raise InputError(
        f"impact: none of {', '.join(names)} has an impact test; add one of {suitable}"
    )


def drops(design: Brief, procedures: Sequence[str], book: Book) -> list[Drop]:
    """Drops of all procedures that have an impact test; as for ``drop``."""
    names, fitting = tuple(procedures) or design.duty.procedures, []
    for name, procedure in chosen(names, book).items():
        if procedure.impact is None:
            continue
        if design.duty.category not in procedure.covers:
            raise InputError(
                f"duty.category = {design.duty.category}: {name} covers "
                f"{', '.join(procedure.covers)}; choose another procedure for the "
                "impact"
            )
        fitting.append(_drop(design, name, procedure.impact))
    return fitting


def _drop(design: Brief, name: str, test: ImpactTest) -> Drop:
    def sourced(symbol: str, key: str) -> Sourced:
        row = pick(
            getattr(test, key), design.duty.category, frozenset(), f"{name}, {key}"
        )
        return Sourced(symbol, row.value, row.unit, row.clause, row.stated_basis)

    share, constant = sourced("a", "mass_share"), sourced("b", "mass_constant")
    height, angle = sourced("h", "drop_height"), sourced("angle", "angle")
    width, overlap = sourced("w", "striker_width"), sourced("overlap", "overlap")
    sag, weight = sourced("s_0", "mount_deflection"), sourced("m_0", "mount_mass")
    rating = design.duty.rating_kg
    mass = float(share.value) * rating + float(constant.value)
    energy = mass * STANDARD_GRAVITY * float(height.value)
    mounts = float(weight.value) * STANDARD_GRAVITY / float(sag.value)
    lines = (
        Sourced("W", rating, "kg", "duty.rating_kg", "given"),
        share,
        constant,
        Sourced("D", mass, "kg", "a W + b", "formula"),
        height,
        Sourced("E", energy, "N mm", f"D g h, g = {STANDARD_GRAVITY}", "formula"),
        angle,
        width,
        overlap,
        sag,
        weight,
        Sourced("k_m", mounts, "N/mm", "m_0 g / s_0", "formula; read as one spring"),
    )
    turn = float(np.deg2rad(float(angle.value)))
    return Drop(name, energy, turn, float(width.value), mounts, lines)


def peak_force(energy: float, compliance: float) -> float:
    """Force [N] that stores an energy [N mm] in a linear spring [mm/N].

    Examples
    --------
    >>> round(peak_force(1.0e6, 1.0 / 2000.0))
    63246
    """
    return float(np.sqrt(2.0 * energy / compliance))


def strike_case(wheel: Wheel, fall: Drop) -> LoadCase:
    """Load case of 1 N that falls on the outboard flange, spread over the striker.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.
    fall : Drop
        Gives the direction and the width.

    Returns
    -------
    LoadCase
        At turn angle phi = 0 the flange is struck at +x: inboard along the axle and,
        by the tilt, towards it.  The attachment face is held.
    """
    mesh, count = wheel.mesh, wheel.cyclic.count
    nodes = mesh.nodes(STRUCK)
    radius = float(np.hypot(*mesh.points[nodes, :2].T).max())
    half = np.arcsin(min(0.5 * fall.width / radius, 1.0))
    patch = Patch(float(np.rad2deg(half)))
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    held[mesh.nodes(ATTACHMENT)] = True
    origin, zero = np.zeros(3), np.zeros(3, dtype=complex)
    inboard = flange_forces(wheel, patch, 0, radial=False)
    inward = flange_forces(wheel, patch, 1, radial=True)
    down = whole_body_resultant(mesh.points, inboard, 0, count, origin)[0][2].real
    side = whole_body_resultant(mesh.points, inward, 1, count, origin)[0][0].real
    axial, tilted = -np.cos(fall.angle) / down, -np.sin(fall.angle) / side
    loads = []
    for m in patch.orders(STRIKE_SHARE):
        nodal = axial * flange_forces(wheel, patch, m, radial=False)
        nodal = nodal + tilted * flange_forces(wheel, patch, m, radial=True)
        loads.append(OrderLoad(m, np.asarray(nodal), zero, zero))
    return LoadCase("impact", Supports(held), tuple(loads), 1.0)


def flange_forces(wheel: Wheel, patch: Patch, order: int, radial: bool) -> ComplexArray:
    """Nodal forces (n_points, 3) [N] of one order of a traction of 1 MPa peak.

    The traction points towards the axle (``radial``) or inboard.
    """
    mesh = wheel.mesh
    weight = patch.coefficient(order) * (1.0 if order == 0 else 2.0)

    def traction(x: FloatArray, wave: FloatArray) -> FloatArray:
        out = np.zeros_like(x)
        if radial:
            out[:, :2] = -x[:, :2] / np.hypot(x[:, 0], x[:, 1])[:, None]
        else:
            out[:, 2] = -1.0
        return np.asarray(weight * wave[:, None] * out)

    def turn(x: FloatArray) -> FloatArray:
        return np.asarray(order * np.arctan2(x[:, 1], x[:, 0]))

    faces = mesh.faces(STRUCK)
    real = traction_forces(mesh, faces, lambda x: traction(x, np.cos(turn(x))))
    imaginary = traction_forces(mesh, faces, lambda x: traction(x, np.sin(turn(x))))
    return np.asarray(real + 1j * imaginary)
