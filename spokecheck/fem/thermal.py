"""Free thermal strain as a load, and its share of the stress.

``sigma = D (eps - alpha T 1)`` with T counted from the stress-free temperature.
So the nodal forces are those of an initial stress -(3 lambda + 2 mu) alpha T, and the
same amount comes off the stress of the displacements.

References
----------
Boley, Weiner, Theory of Thermal Stresses, 1960, sec. 1.12 (from memory).
"""

import numpy as np

from spokecheck.fem.assembly import chunks, shape_gradients
from spokecheck.fem.loads import ScalarField
from spokecheck.mesh.quadrature import TET_4, Rule
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.shapes import tet_values
from spokecheck.units import FloatArray

Temperature = ScalarField | float
"""Temperature above the stress-free one [K]: constant or a function of position."""


def thermal_pressure(
    mesh: Mesh,
    bulk_alpha: FloatArray,
    temperature: Temperature,
    rule: Rule = TET_4,
) -> FloatArray:
    """Stress that would suppress the free expansion, at the integration points.

    Parameters
    ----------
    mesh : Mesh
        The body.
    bulk_alpha : ndarray (n_cells,)
        (3 lambda + 2 mu) alpha of each cell [MPa/K].
    temperature : Temperature
        Above the stress-free temperature [K].
    rule : Rule
        Where to evaluate.

    Returns
    -------
    ndarray (n_cells, n_q)
        (3 lambda + 2 mu) alpha T [MPa], positive when heated.
    """
    if not callable(temperature):
        return np.outer(bulk_alpha, np.full(len(rule.weights), float(temperature)))
    x = np.einsum("qa,eai->eqi", tet_values(rule.points), mesh.points[mesh.cells])
    T = temperature(x.reshape(-1, 3)).reshape(x.shape[:2])
    return np.asarray(bulk_alpha[:, None] * T)


def thermal_forces(
    mesh: Mesh,
    bulk_alpha: FloatArray,
    temperature: Temperature,
    rule: Rule = TET_4,
) -> FloatArray:
    """Nodal forces of the free thermal strain.

    Parameters as for ``thermal_pressure``.

    Returns
    -------
    ndarray (n_points, 3)
        Nodal forces [N]; their sum and moment are zero.
    """
    # f_ai = sum_q w (3 lambda + 2 mu) alpha T dN_a/dx_i
    p = thermal_pressure(mesh, bulk_alpha, temperature, rule)
    total = np.zeros((mesh.n_points, 3))
    for part in chunks(mesh.n_cells):
        cells = mesh.cells[part]
        G, dV = shape_gradients(mesh.points, cells, rule)
        np.add.at(total, cells, np.einsum("eqai,eq->eai", G, p[part] * dV))
    return total
