"""What later rounds keep of the last one that was joined of two parts."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import scipy.sparse as sp

from spokecheck.cases.procedure import Setup
from spokecheck.fem.body import Body, Elastic
from spokecheck.fem.composite import CompositeBody
from spokecheck.screen.loaded import LoadedCase
from spokecheck.screen.local_refinement import RefinedCells
from spokecheck.units import IntArray
from spokecheck.wheel.build import Wheel


@dataclass(frozen=True)
class FirstBody:
    """The body of the last joined round, whose factor is cheap, and its solutions.

    Attributes
    ----------
    body : Body
    loaded : dict of Setup to LoadedCase
    carry : csr_array (n_points, n_points_first)
        Values on the present mesh from those on that one.
    parent : ndarray (n_cells,)
        Cell of that mesh that each of the present one is part of.
    """

    body: Body = field(repr=False)
    loaded: Mapping[Setup, LoadedCase] = field(repr=False)
    carry: sp.csr_array = field(repr=False)
    parent: IntArray = field(repr=False)

    def finer(self, refined: RefinedCells) -> "FirstBody":
        """The same for a mesh some of whose cells were halved."""
        carry = sp.csr_array(refined.carry @ self.carry)
        return replace(self, carry=carry, parent=self.parent[refined.parent])

    def composite(self, wheel: Wheel, elastic: Elastic) -> CompositeBody:
        """The wheel on its present mesh over the first body."""
        return CompositeBody(
            self.body, wheel.mesh, wheel.cyclic, elastic, self.carry, self.parent
        )
