"""All copies of one part's sector, condensed onto the ring; equations in ``ring``."""

from dataclasses import dataclass

import numpy as np

from spokecheck.fem.cyclic import rotation
from spokecheck.fem.joined import Joined, JoinedPart
from spokecheck.fem.stiffness import Stiffness, to_columns, to_fields
from spokecheck.fem.tied_ring import TiedRing
from spokecheck.units import BoolArray, ComplexArray, FloatArray

ABSENT = 1.0e-14
"""A residue whose forces are below this share of the largest is not there: a load of
one order has one residue, all the others are rounding."""


@dataclass(frozen=True)
class Reduced:
    """Right-hand sides of one part after condensation.

    Attributes
    ----------
    ring : ndarray (n_ring, n_sides)
        Forces left on the ring of the joined mesh, in the frames of its strips.
    present : dict of int to ndarray (n_sides,) of bool
        By l, which sides have forces; residues of none are absent.
    columns : dict of int to ndarray (3 n_points, 2 n_present)
        By l, what the frontal factor left of the sector's forces.
    cuts : dict of int to ndarray (n_cut, n_present)
        By l, what was left at the cuts.
    """

    ring: ComplexArray
    present: dict[int, BoolArray]
    columns: dict[int, FloatArray]
    cuts: dict[int, ComplexArray]


class Condensed:
    """One part of a joined body, for every residue m of the body's orders.

    Parameters
    ----------
    part : JoinedPart
    stiffness : Stiffness
        Of its sector.
    joined : Joined
        The body.
    free : ndarray (n_points, 3) of bool
        Free components of the joined mesh, alike in all copies.
    """

    def __init__(
        self, part: JoinedPart, stiffness: Stiffness, joined: Joined, free: BoolArray
    ) -> None:
        self._part, self._position = part, stiffness.dissection.position
        self._g, self._strips = joined.cyclic.count, joined.strips
        self._inner = part is joined.parts[1]
        self._n_copies, self._alpha = len(part.number), part.sector.cyclic.alpha
        self._sector = TiedRing(part, stiffness, free[part.number[0]])

    @property
    def ring_free(self) -> BoolArray:
        """Free components (n_ring,) of the ring of the joined mesh."""
        copies = np.tile(self._sector.ring_free, self._n_copies)
        by_strip = copies.reshape(self._strips, -1)
        return np.asarray(np.roll(by_strip, self._part.first, axis=0).ravel())

    def _residues(self, m: int) -> list[int]:
        """Residues k_l = m + g l."""
        return [m + self._g * index for index in range(self._n_copies)]

    def _waves(self, m: int) -> ComplexArray:
        """exp(i k_l j alpha), rows l, columns j."""
        turns = np.outer(self._residues(m), np.arange(self._n_copies))
        return np.asarray(np.exp(1j * turns * self._alpha))

    def on_ring(self, m: int) -> ComplexArray | FloatArray:
        """Matrix A (n_ring, n_ring) on the ring of the joined mesh; real if it can be.

        Its blocks A_jj' depend on j - j' alone, up to the phase between the cuts.
        """
        n_copies, g = self._n_copies, self._g
        matrices = np.array([self._sector.schur(k) for k in self._residues(m)])
        blocks = np.tensordot(self._waves(m).T / n_copies, matrices, axes=1)
        back = np.exp(-1j * m * 2.0 * np.pi / g)
        if real_class(m, g):
            blocks, back = blocks.real, back.real
        size = blocks.shape[1]
        A = np.empty((n_copies, size, n_copies, size), dtype=blocks.dtype)
        for j, other in np.ndindex(n_copies, n_copies):
            block = blocks[(j - other) % n_copies]
            A[j, :, other] = block if j >= other else back * block
        # P^H A P
        by_strip = A.reshape(self._strips, size * n_copies // self._strips, -1)
        A = self._moved(by_strip, back).reshape(n_copies * size, self._strips, -1)
        columns = self._moved(A.transpose(1, 0, 2), np.conj(back)).transpose(1, 0, 2)
        return columns.reshape(n_copies * size, -1)

    def _moved(
        self, by_strip: ComplexArray | FloatArray, back: complex
    ) -> ComplexArray | FloatArray:
        """Strips of the part put where they are on the ring, with a phase beyond it."""
        moved = np.roll(by_strip, self._part.first, axis=0)
        if back != 1.0:
            moved[: self._part.first] *= back
        return moved

    def _onto_ring(self, values: ComplexArray, m: int) -> ComplexArray:
        """Rows of the part's own strips put where they are on the ring: P^H v."""
        by_strip = values.reshape(self._strips, -1, values.shape[1])
        first = self._part.first
        moved = np.roll(by_strip, first, axis=0)
        moved[:first] *= np.exp(-1j * m * 2.0 * np.pi / self._g)
        return np.asarray(moved.reshape(values.shape))

    def _from_ring(self, values: ComplexArray, m: int) -> ComplexArray:
        """Rows of the ring for the part's own strips: P v."""
        moved = values.reshape(self._strips, -1, values.shape[1]).copy()
        first = self._part.first
        moved[:first] *= np.exp(1j * m * 2.0 * np.pi / self._g)
        return np.asarray(np.roll(moved, -first, axis=0).reshape(values.shape))

    def condensed(self, forces: ComplexArray, m: int) -> Reduced:
        """Forces (n_sides, n_points, 3) of the joined mesh, left on the ring."""
        waves, n_copies, n_sides = self._waves(m), self._n_copies, len(forces)
        by_residue = self._by_residue(forces, waves)
        # a load of one order has one residue, so most sides are zero in each
        sizes = np.abs(by_residue).max(axis=(2, 3), initial=0.0)
        there = sizes > ABSENT * sizes.max(axis=0)
        n_ring = len(self._sector.ring_free)
        ring = np.zeros((n_copies, n_ring, n_sides), dtype=complex)
        present, cuts = dict[int, BoolArray](), dict[int, ComplexArray]()
        columns = dict[int, FloatArray]()
        for index, k in enumerate(self._residues(m)):
            some = there[index]
            if not some.any():
                continue
            own = to_columns(by_residue[index, some], self._position)
            own[~self._sector.free] = 0.0
            self._sector.factor.forward(own)
            present[index], columns[index] = some, own
            cuts[index], left = self._sector.condense(own, k)
            ring[:, :, some] += waves[index][:, None, None] * left
        whole = ring.reshape(-1, n_sides)
        return Reduced(self._onto_ring(whole, m), present, columns, cuts)

    def _by_residue(self, forces: ComplexArray, waves: ComplexArray) -> ComplexArray:
        """Forces (n_copies, n_sides, n_points, 3) of each residue on one sector.

        Points of high cuts count on the next copy, and those of the ring on the outer
        part, so that each force is taken once.
        """
        sector, copies = self._part.sector, enumerate(self._part.number)
        # most loads act on a few surfaces
        touched: BoolArray = np.asarray(forces.any(axis=(0, 2)))
        acted: BoolArray = np.asarray(touched[self._part.number].any(axis=0))
        acted[sector.cyclic.pairs[:, 1]] = False
        if self._inner:
            acted[sector.ring] = False
        R = [rotation(j * self._alpha) for j in range(self._n_copies)]
        own = np.array([forces[:, of[acted]] @ R[j] for j, of in copies])
        total = np.zeros((*own.shape[:2], len(acted), 3), dtype=complex)
        total[:, :, acted] = np.tensordot(waves.conj() / self._n_copies, own, axes=1)
        return total

    def expand(
        self, reduced: Reduced, u_ring: ComplexArray, m: int, u: ComplexArray
    ) -> None:
        """Write the part's displacements into ``u`` (n_sides, n_points, 3)."""
        waves, n_copies, n_sides = self._waves(m), self._n_copies, len(u)
        own = self._from_ring(u_ring, m).reshape(n_copies, -1, n_sides)
        # 1. cuts and ring by residue, and from these of every copy
        edges = []
        for index, k in enumerate(self._residues(m)):
            ring = np.tensordot(waves[index].conj() / n_copies, own, axes=1)
            cut = None
            if index in reduced.present:
                some = reduced.present[index]
                cut = np.zeros((len(reduced.cuts[index]), n_sides), dtype=complex)
                cut[:, some] = reduced.cuts[index]
            edges.append(self._sector.expand(ring, cut, k))
        moved = np.tensordot(waves.T, np.array(edges), axes=1)
        # 2. each copy follows
        factor = self._sector.factor
        for j, number in enumerate(self._part.number):
            columns = np.zeros((len(self._sector.free), 2 * n_sides))
            for index, forward in reduced.columns.items():
                at = np.flatnonzero(reduced.present[index])
                re, im = np.split(forward, 2, axis=1)
                phase = waves[index, j]
                columns[:, at] += phase.real * re - phase.imag * im
                columns[:, n_sides + at] += phase.imag * re + phase.real * im
            columns[factor.retained] = np.hstack([moved[j].real, moved[j].imag])
            factor.backward(columns)
            copy = to_fields(columns, self._position)
            u[:, number] = copy @ rotation(j * self._alpha).T


def real_class(m: int, g: int) -> bool:
    """Whether a field of order m differs from its conjugate by no phase."""
    return (2 * m) % g == 0
