"""What later rounds keep of the last mesh that was solved as a whole."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import scipy.sparse as sp

from spokecheck.cases.procedure import Setup
from spokecheck.fem.body import Body, Elastic
from spokecheck.fem.composite import CompositeBody, Solved
from spokecheck.fem.orders import OrderLoad
from spokecheck.fem.parallel import Kept
from spokecheck.screen.loaded import LoadedCase
from spokecheck.screen.local_refinement import RefinedCells
from spokecheck.units import ComplexArray, IntArray
from spokecheck.wheel.build import Wheel

Solver = Kept[Sequence[OrderLoad], ComplexArray]


class KeptSolvers:
    """Factors of the last whole mesh, each in the process that made it.

    They end with the block of a ``with`` statement, or when others take their place.
    """

    def __init__(self) -> None:
        self._solvers: Mapping[Setup, Solver] = {}

    def __enter__(self) -> "KeptSolvers":
        return self

    def __exit__(self, *error: object) -> None:
        self.keep({})

    def keep(self, solvers: Mapping[Setup, Solver]) -> None:
        """Keep these in place of those before, which end."""
        for solver in self._solvers.values():
            solver.end()
        self._solvers = solvers

    def __getitem__(self, setup: Setup) -> Solver:
        return self._solvers[setup]


@dataclass(frozen=True)
class SolvedBody:
    """The body of the last mesh solved as a whole, and its solutions.

    Attributes
    ----------
    body : Body
    loaded : dict of Setup to LoadedCase
    carry : csr_array (n_points, n_points_then)
        Values on the present mesh from those on that one.
    parent : ndarray (n_cells,)
        Cell of that mesh that each of the present one is part of.
    """

    body: Body = field(repr=False)
    loaded: Mapping[Setup, LoadedCase] = field(repr=False)
    carry: sp.csr_array = field(repr=False)
    parent: IntArray = field(repr=False)

    @classmethod
    def of(cls, body: Body, loaded: Mapping[Setup, LoadedCase]) -> "SolvedBody":
        """A body that has just been solved."""
        itself = sp.csr_array(sp.eye_array(body.mesh.n_points))
        return cls(body, loaded, itself, np.arange(body.mesh.n_cells))

    def finer(self, refined: RefinedCells) -> "SolvedBody":
        """The same for a mesh some of whose cells were halved."""
        carry = sp.csr_array(refined.carry @ self.carry)
        return replace(self, carry=carry, parent=self.parent[refined.parent])

    def composite(self, wheel: Wheel, elastic: Elastic) -> CompositeBody:
        """The wheel on its present mesh over this body."""
        return CompositeBody(
            self.body, wheel.mesh, wheel.cyclic, elastic, self.carry, self.parent
        )

    def solved(self, setup: Setup, solver: Solver) -> Solved:
        """One test on it."""
        loaded = self.loaded[setup]
        return Solved(loaded.case.loads, loaded.displacement, solver.answer)
