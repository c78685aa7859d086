"""Stress at a wheel's outer surface: that of its faces where the traction is known.

Inside the metal, and on held and coupled faces, it stays what recovery finds.
"""

from dataclasses import dataclass, field

import numpy as np

from spokecheck.cases.loadcase import LoadCase
from spokecheck.fem.body import Elastic
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.error import plain_stress, surface_errors
from spokecheck.fem.surface_stress import surface_stress, tractions_of
from spokecheck.mesh.record import Mesh
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray


@dataclass(frozen=True)
class OuterStress:
    """Recovered stress that surface stress has taken the place of.

    Attributes
    ----------
    nodes : ndarray (n_nodes,)
        Points of the mesh, sorted.
    recovered : ndarray (n_loads, n_nodes, 6)
        Complex stress [MPa] there.
    cyclic : Cyclic
        Symmetry of the mesh.
    """

    nodes: IntArray
    recovered: ComplexArray = field(repr=False)
    cyclic: Cyclic = field(repr=False)

    def put_back(self, stress: ComplexArray, points: IntArray) -> ComplexArray:
        """Stress (n_loads, n, 6) at points with the recovered one where there is."""
        index = np.minimum(np.searchsorted(self.nodes, points), len(self.nodes) - 1)
        mine = self.nodes[index] == points
        back = stress.copy()
        back[:, mine] = self.recovered[:, index[mine]]
        return back

    def after(self, before: "OuterStress") -> "OuterStress":
        """With what another had at points that this one has not."""
        old = ~np.isin(before.nodes, self.nodes)
        nodes = np.concatenate([self.nodes, before.nodes[old]])
        fields = [self.recovered, before.recovered[:, old]]
        order = np.argsort(nodes)
        recovered = np.concatenate(fields, axis=1)[:, order]
        return OuterStress(nodes[order], recovered, self.cyclic)


def outer_faces(mesh: Mesh) -> tuple[IntArray, dict[str, IntArray]]:
    """Faces (n_faces, 6) of the outer surface, sector cuts excepted, and their numbers.

    The numbers are those of each named surface.
    """
    names = [name for name in mesh.surfaces if not name.startswith("cut ")]
    ends = np.cumsum([len(mesh.surfaces[name]) for name in names])
    numbers = np.split(np.arange(ends[-1]), ends[:-1])
    return mesh.faces(names), dict(zip(names, numbers, strict=True))


def with_outer_stress(
    mesh: Mesh,
    cyclic: Cyclic,
    elastic: Elastic,
    case: LoadCase,
    u: ComplexArray,
    stress: ComplexArray,
    wanted: BoolArray | None = None,
) -> tuple[ComplexArray, OuterStress]:
    """Put surface stress in the place of the recovered one.

    Parameters
    ----------
    mesh, cyclic, elastic
        The wheel.
    case : LoadCase
        What is held, coupled, and acts on the surface.
    u : ndarray (n_loads, n_points, 3)
        Complex displacement [mm].
    stress : ndarray (n_loads, n_points, 6)
        Recovered stress [MPa].
    wanted : ndarray (n_points,) of bool, optional
        Points to change, on both cuts alike; all if not given.

    Returns
    -------
    ndarray (n_loads, n_points, 6)
        Stress with that of the surface in its place [MPa].
    OuterStress
    """
    faces, numbers = outer_faces(mesh)
    unknown = np.asarray(case.supports.held.any(axis=1))
    unknown[case.supports.coupled] = True
    taken: BoolArray = np.asarray(~unknown[faces].all(axis=1))
    if wanted is not None:
        taken &= wanted[faces].any(axis=1)
    place = np.cumsum(taken) - 1
    surface = surface_stress(
        mesh.points, mesh.cells, faces[taken], elastic.lame, cyclic, elastic.groups
    )
    loads = [
        [
            (place[mine[taken[mine]]], acting.at)
            for acting in tractions
            for mine in (numbers[name] for name in acting.where)
        ]
        for tractions in case.tractions or ((),) * len(u)
    ]
    orders = np.array([load.order for load in case.loads])
    known = tractions_of(mesh.points, surface, loads)
    found = surface.at_nodes(u, orders, known)
    kept = slice(None) if wanted is None else wanted[surface.nodes]
    nodes = surface.nodes[kept]
    both = stress.copy()
    both[:, nodes] = found[:, kept]
    return both, OuterStress(nodes, stress[:, nodes], cyclic)


def outer_errors(
    mesh: Mesh,
    elastic: Elastic,
    cyclic: Cyclic,
    u: ComplexArray,
    stress: ComplexArray,
    orders: IntArray,
    points: IntArray,
) -> FloatArray:
    """Relative error (n,) of the stress at points of the outer surface.

    Of the turning loads' stress, which makes the amplitude; of all if none turns.
    ``u`` and ``stress`` as for ``with_outer_stress``, at the level of the test.
    """
    turning = orders != 0
    if not turning.any():
        turning[:] = True
    faces, _ = outer_faces(mesh)
    faces = faces[np.isin(faces, points).any(axis=1)]
    nodes, flat = np.unique(faces, return_inverse=True)
    sector = cyclic, orders[turning]
    plain = plain_stress(mesh, elastic.lame, u[turning], nodes, sector, elastic.groups)
    own = stress[turning][:, nodes]
    return surface_errors(
        flat.reshape(-1, 6), own, plain, np.searchsorted(nodes, points)
    )
