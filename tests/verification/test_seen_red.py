"""Every handbook case fails when the code is broken: a check that cannot fail is none.

Each fault is planted in one function of the solver; a case counts as red if a judged
quantity leaves its tolerance, or if the run stops with an error of the package.
"""

from dataclasses import replace

import numpy as np
import pytest

from spokecheck.errors import SpokecheckError
from spokecheck.fem import assembly, cuts, cyclic, loads, modal, stress, thermal
from spokecheck.handbook.catalogue import CASES
from spokecheck.handbook.runner import run_case

SWAPPED = np.array([0, 1, 2, 3, 4, 5, 6, 7, 9, 8])
"""Mid-side nodes in the order of another convention."""


def stiffness_too_high(patch):
    """Cell stiffness a tenth too high."""
    right = assembly.cell_stiffness
    patch.setattr(assembly, "cell_stiffness", lambda *a: 1.1 * right(*a))


def face_loads_too_high(patch):
    """Nodal forces of tractions and pressures a tenth too high."""
    right = loads.FaceSamples.spread
    patch.setattr(loads.FaceSamples, "spread", lambda *a: 1.1 * right(*a))


def stress_too_high(patch):
    """Stress from strain a tenth too high."""
    right = stress._hooke
    patch.setattr(stress, "_hooke", lambda *a: 1.1 * right(*a))


def nodes_swapped(patch):
    """Two mid-side nodes exchanged in the shape functions of the stiffness."""
    right = assembly.tet_gradients
    patch.setattr(assembly, "tet_gradients", lambda xi: right(xi)[:, SWAPPED])


def tied_to_the_ground(patch):
    """A small spring from every point to the ground."""
    right = assembly.sum_blocks

    def tied(*arguments):
        pairs = right(*arguments)
        own = (pairs.earlier == pairs.later)[:, None, None]
        return replace(pairs, blocks=pairs.blocks * (1.0 + 1e-3 * own * np.eye(3)))

    patch.setattr(assembly, "sum_pairs", tied)


def shear_lost(patch):
    """The coupling term mu O_ajbi left out of the cell stiffness."""

    def short(G, dV, lam, mu):
        K = right(G, dV, lam, mu)
        return K - 0.1 * right(G, dV, 0.0 * lam, mu).transpose(0, 1, 4, 3, 2)

    right = assembly.cell_stiffness
    patch.setattr(assembly, "cell_stiffness", short)


def phase_reversed(patch):
    """The cut condition of a sector with the phase turned the wrong way."""
    right = cuts.TiedCuts.solve
    patch.setattr(cuts.TiedCuts, "solve", lambda self, f, m: right(self, f, -m))


def frames_reversed(patch):
    """Stress tensors turned the wrong way."""
    right = cyclic.stress_rotation
    for module in ("recovery", "cyclic"):
        patch.setattr(f"spokecheck.fem.{module}.stress_rotation", lambda R: right(R.T))


def mass_too_high(patch):
    """Mass a tenth too high."""
    right = modal.mass_blocks
    patch.setattr(modal, "mass_blocks", lambda mesh, rho: right(mesh, 1.1 * rho))


def heat_too_high(patch):
    """Thermal stress a tenth too high, in load and result."""
    right = thermal.thermal_pressure
    for module in ("thermal", "static"):
        patch.setattr(
            f"spokecheck.fem.{module}.thermal_pressure", lambda *a: 1.1 * right(*a)
        )


FAULTS = (
    stiffness_too_high,
    face_loads_too_high,
    stress_too_high,
    nodes_swapped,
    tied_to_the_ground,
    shear_lost,
    phase_reversed,
    frames_reversed,
    mass_too_high,
    heat_too_high,
)


def is_red(case):
    """Whether a case leaves its tolerance, or stops."""
    try:
        with np.errstate(all="ignore"):
            return not run_case(case).passed
    except SpokecheckError:
        return True


def reddening(case):
    """Names of the faults that turn a case red."""
    found = []
    for fault in FAULTS:
        with pytest.MonkeyPatch.context() as patch:
            fault(patch)
            if is_red(case):
                found.append(fault.__name__)
    return found


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_case_turns_red_when_the_code_is_broken(case):
    """At least one planted fault, and not the code as it is, fails the case."""
    assert not is_red(case)
    for fault in FAULTS:
        with pytest.MonkeyPatch.context() as patch:
            fault(patch)
            if is_red(case):
                return
    pytest.fail(f"no planted fault is seen by {case.id}")
