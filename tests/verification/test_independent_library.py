"""Stiffness, loads and displacements beside a general-purpose library.

scikit-fem (Gustafsson, McBain, J. Open Source Softw. 5 (2020) 2369; citation from
memory) assembles the same bodies on its own numbering, with its own shape functions,
mappings and integration points.
Only coordinates are matched: the n-th point of one mesh is the point of the other that
lies at the same place.
Integration on curved cells is inexact, so both sides take a rule of the same degree:
2 (four points) for the stiffness, 4 (six points) for pressures.
Constraints of the sector are written here by hand and solved by SciPy's SuperLU, so
that the reduction, the elimination order and the Cholesky factor are checked as well.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import scipy.sparse as sp
from numpy.testing import assert_allclose
from scipy.sparse.linalg import spsolve
from scipy.spatial import cKDTree
from skfem import (
    Basis,
    BilinearForm,
    ElementTetP2,
    ElementVector,
    FacetBasis,
    LinearForm,
    MeshTet,
    MeshTet2,
)
from skfem.helpers import ddot, dot, eye, sym_grad, trace

from spokecheck.cases.radial import AIR_SIDE
from spokecheck.fem.actions import pressure, traction
from spokecheck.fem.assembly import assemble_stiffness
from spokecheck.fem.body import make_body, respond
from spokecheck.fem.elasticity import Material
from spokecheck.fem.loads import pressure_forces
from spokecheck.fem.orders import OrderLoad, Supports
from spokecheck.fem.static import solve_static
from spokecheck.fem.supports import fix
from spokecheck.mesh.parts import beam_block
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.tables.surface_names import ATTACHMENT

ALUMINIUM = Material(E=70000.0, nu=0.33)
LAMBDA = 70000.0 * 0.33 / (1.33 * 0.34)
SHEAR = 70000.0 / (2.0 * 1.33)
"""Lamé constants of the same material, from the textbook formula."""

SAME = 1e-9
"""Two right codes differ by rounding alone; matrix and displacement lose a few digits
of sixteen to summation order and condition."""

STIFFNESS_DEGREE = 2
FACE_DEGREE = 4


@BilinearForm
def elastic_energy(u, v, _):
    """Virtual work of an isotropic body."""
    strain, virtual = sym_grad(u), sym_grad(v)
    return ddot(2.0 * SHEAR * strain + LAMBDA * eye(trace(strain), 3), virtual)


@LinearForm
def unit_pressure(v, w):
    """Work of a pressure of 1 MPa into the body."""
    return -dot(w.n, v)


@dataclass(frozen=True)
class Twin:
    """The other library's model of one of our meshes.

    ``column[n]`` is the column of our n-th degree of freedom in its matrices.
    """

    basis: Basis
    column: np.ndarray
    points: np.ndarray

    def stiffness(self):
        """Stiffness matrix in our numbering [N/mm]."""
        K = elastic_energy.assemble(self.basis).tocsr()
        return K[self.column][:, self.column]

    def pressed(self, faces):
        """Nodal forces of 1 MPa on our faces, in our numbering [N]."""
        mesh, corners = self.basis.mesh, self.points[faces[:, :3]]
        middle = mesh.p[:, mesh.facets].mean(axis=1).T
        gap, facets = cKDTree(middle).query(corners.mean(axis=1))
        assert gap.max() < 1e-6
        side = FacetBasis(mesh, self.basis.elem, facets=facets, intorder=FACE_DEGREE)
        return unit_pressure.assemble(side)[self.column]


def twin_of(mesh):
    """Second-order twin with the same curved edges."""
    corners, number = np.unique(mesh.cells[:, :4], return_inverse=True)
    straight = MeshTet(mesh.points[corners].T, number.reshape(-1, 4).T)
    flat = MeshTet2.from_mesh(straight)
    edges = np.unique(_edge_ends(mesh), axis=0)
    ends = mesh.points[edges[:, :2]].mean(axis=1)
    places = flat.doflocs.T.copy()
    gap, row = cKDTree(ends).query(places[len(corners) :])
    assert gap.max() < 1e-6
    places[len(corners) :] = mesh.points[edges[row, 2]]
    curved = MeshTet2(np.ascontiguousarray(places.T), flat.t)
    basis = Basis(curved, ElementVector(ElementTetP2()), intorder=STIFFNESS_DEGREE)
    return Twin(basis, _columns(basis, mesh.points), mesh.points)


def _edge_ends(mesh):
    """Two ends and the middle of every edge, as told in the mesh record."""
    edges = np.array([[0, 1, 4], [1, 2, 5], [2, 0, 6], [0, 3, 7], [1, 3, 8], [2, 3, 9]])
    rows = mesh.cells[:, edges].reshape(-1, 3)
    rows[:, :2] = np.sort(rows[:, :2], axis=1)
    return rows


def _columns(basis, points):
    """Column of every component of every point, by place."""
    places = basis.doflocs.T
    column = np.empty((len(points), 3), dtype=int)
    kind = np.empty(len(places), dtype=int)
    for rows in (basis.nodal_dofs, basis.edge_dofs):
        for component, dofs in enumerate(rows):
            kind[dofs] = component
    for component in range(3):
        mine = np.flatnonzero(kind == component)
        gap, found = cKDTree(places[mine]).query(points)
        assert gap.max() < 1e-6
        column[:, component] = mine[found]
    assert len(np.unique(column)) == column.size == len(places)
    return column.ravel()


def assert_same_matrix(actual, expected):
    """Entries agree relative to the largest."""
    gap = abs(sp.csr_array(actual) - sp.csr_array(expected)).max()
    assert gap <= SAME * abs(expected).max(), gap / abs(expected).max()


def assert_same_field(actual, expected):
    """Vectors agree relative to the largest."""
    top = np.abs(expected).max()
    assert top > 0.0
    assert_allclose(actual, expected, rtol=0, atol=SAME * top)


@pytest.fixture(scope="module")
def beam():
    """Beam of 5 x 2 x 2 bricks and its twin."""
    mesh = beam_block(100.0, 20.0, 10.0, (5, 2, 2))
    return mesh, twin_of(mesh)


@pytest.fixture(scope="module")
def wheel():
    """One of five sectors of an example wheel."""
    return build_wheel(read_design(Path("meshes/designs/aspen-cast-5.toml")))


@pytest.fixture(scope="module")
def sector(wheel):
    """The sector's twin."""
    return twin_of(wheel.mesh)


def test_stiffness_of_a_beam_is_that_of_the_library(beam):
    """Every entry of the beam's stiffness matrix agrees to 1e-9 of the largest."""
    mesh, twin = beam
    assert_same_matrix(assemble_stiffness(mesh, ALUMINIUM), twin.stiffness())


def test_displacement_of_a_beam_is_that_of_the_library(beam):
    """A cantilever pressed on top and held at its root moves alike everywhere."""
    mesh, twin = beam
    ours = solve_static(mesh, ALUMINIUM, [fix("root")], [pressure("top", 1.0)])
    free = np.repeat(mesh.points[:, 0] > 1e-9, 3)
    theirs = np.zeros(len(free))
    K, f = twin.stiffness(), twin.pressed(mesh.faces("top"))
    theirs[free] = spsolve(K[free][:, free].tocsc(), f[free])
    assert_same_field(ours.u.ravel(), theirs)


def test_traction_along_the_normal_is_the_librarys_pressure(beam):
    """A traction of -1 MPa along z on the top equals the library's pressure."""
    mesh, twin = beam
    ours = traction("top", (0.0, 0.0, -1.0)).nodal(mesh)
    assert_same_field(ours.ravel(), twin.pressed(mesh.faces("top")))


def test_the_sector_has_curved_cells(wheel):
    """The sector tests curved mappings: mid-side points lie off the straight edges."""
    rows = _edge_ends(wheel.mesh)
    points = wheel.mesh.points
    bow = points[rows[:, 2]] - points[rows[:, :2]].mean(axis=1)
    assert np.linalg.norm(bow, axis=1).max() > 0.1


def test_stiffness_of_a_wheel_sector_is_that_of_the_library(wheel, sector):
    """Every entry of the sector's stiffness agrees to 1e-9 of the largest."""
    ours = assemble_stiffness(wheel.mesh, ALUMINIUM)
    assert_same_matrix(ours, sector.stiffness())


@pytest.mark.slow
def test_order_zero_of_a_wheel_sector_is_that_of_the_library(wheel, sector):
    """The sector under inflation, its hub face held, moves alike everywhere."""
    mesh, cyclic = wheel.mesh, wheel.cyclic
    nodal = pressure_forces(mesh, mesh.faces(AIR_SIDE), 1.0)
    assert_same_field(nodal.ravel(), sector.pressed(mesh.faces(AIR_SIDE)))
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    held[mesh.nodes(ATTACHMENT)] = True
    none = np.zeros(3, dtype=complex)
    load = OrderLoad(0, nodal.astype(complex), none, none)
    body = make_body(mesh, ALUMINIUM, cyclic)
    ours = respond(body, Supports(held), [load]).displacements.u[0]
    T = follow_the_low_cut(mesh, held, cyclic.count)
    K, f = sector.stiffness(), sector.pressed(mesh.faces(AIR_SIDE))
    theirs = T @ spsolve((T.T @ K @ T).tocsc(), T.T @ f)
    assert_allclose(ours.imag, 0.0, rtol=0, atol=SAME * np.abs(theirs).max())
    assert_same_field(ours.real.ravel(), theirs)


def follow_the_low_cut(mesh, held, count):
    """Matrix from independent to all components: turned copies on the high cut.

    Pairs are found anew by place: a point whose image, turned by a sector's angle about
    the axle, is a point of the mesh again lies on the low cut.
    """
    angle = 2.0 * np.pi / count
    turn = np.array(
        [
            [np.cos(angle), -np.sin(angle), 0.0],
            [np.sin(angle), np.cos(angle), 0.0],
            [0.0, 0.0, 1.0],
        ]
    )
    gap, image = cKDTree(mesh.points).query(mesh.points @ turn.T)
    low = np.flatnonzero(gap < 1e-5)
    high = image[low]
    assert len(low) > 50
    assert set(high).isdisjoint(low)
    T = sp.eye_array(3 * mesh.n_points, format="lil")
    for a, b in zip(low, high, strict=True):
        T[3 * b : 3 * b + 3, 3 * b : 3 * b + 3] = 0.0
        T[3 * b : 3 * b + 3, 3 * a : 3 * a + 3] = turn
    follows = np.zeros_like(held)
    follows[high] = True
    return T.tocsr()[:, np.flatnonzero(~held.ravel() & ~follows.ravel())]
