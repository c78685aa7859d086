"""A body with its supports: what they leave free of its outer surface."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from spokecheck.fem.body import Body
from spokecheck.fem.restraint import Restraint
from spokecheck.fem.supports import AnySupport, Foundation
from spokecheck.mesh.record import boundary_faces, face_keys
from spokecheck.units import BoolArray, IntArray


@dataclass(frozen=True)
class HeldBody:
    """One's own body and what holds it, the same for all its load cases.

    Attributes
    ----------
    body : Body
    given : tuple of AnySupport
        Supports as they were named.
    restraint : Restraint
        The same in the solver's terms.
    """

    body: Body
    given: tuple[AnySupport, ...]
    restraint: Restraint

    @cached_property
    def free_faces(self) -> IntArray:
        """Outer faces (n_faces, 6) on which no support acts, without sector cuts.

        A face counts as held if all its points are, in whatever direction.
        """
        mesh, supports = self.body.mesh, self.restraint.supports
        faces = boundary_faces(mesh.cells)
        held: BoolArray = np.asarray(supports.held.any(axis=1))
        held[supports.coupled] = True
        taken = held[faces].all(axis=1)
        for cut in self.body.cyclic.pairs.T:
            on_cut = np.zeros(mesh.n_points, dtype=bool)
            on_cut[cut] = True
            taken |= on_cut[faces].all(axis=1)
        keys = face_keys(faces, mesh.n_points)
        for support in self.given:
            if isinstance(support, Foundation):
                sprung = face_keys(mesh.faces(support.where), mesh.n_points)
                taken |= np.isin(keys, sprung)
        return np.asarray(faces[~taken])
