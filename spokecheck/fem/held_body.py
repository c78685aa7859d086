"""A body with its supports: its free outer surface, its planes of symmetry."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from spokecheck.fem.body import Body
from spokecheck.fem.ghosts import MirrorPlane
from spokecheck.fem.mirrors import mirror_planes
from spokecheck.fem.recovery import Recovery, patch_recovery
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

    @cached_property
    def mirrors(self) -> tuple[MirrorPlane, ...]:
        """Planes of symmetry and antisymmetry, see ``mirror_planes``."""
        restraint = self.restraint
        return mirror_planes(self.body.mesh, restraint.supports, restraint.prescribed)

    def recovery(self, group: int, kept: tuple[int, ...]) -> Recovery:
        """Patch recovery that goes on beyond some of the mirrors, by their numbers.

        Points of an interface are counted to one group of materials.
        """
        body, mesh = self.body, self.body.mesh
        if group == 0 and not kept:
            return body.recovery
        if (group, kept) not in self._recoveries:
            self._recoveries[group, kept] = patch_recovery(
                mesh.points,
                mesh.cells,
                body.cyclic,
                body.groups_first(group),
                [self.mirrors[k] for k in kept],
            )
        return self._recoveries[group, kept]

    @cached_property
    def _recoveries(self) -> dict[tuple[int, tuple[int, ...]], Recovery]:
        return {}
