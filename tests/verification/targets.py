"""What is patched, by short names, and the wrong functions that are put there."""

from dataclasses import replace

import numpy as np

from spokecheck.fatigue.measures import hypersphere_amplitude
from spokecheck.screen.hotspots import images_at_spokes
from tests.verification.planted import Constant, Wrong

TARGETS = {
    # fem: cells, loads, stress
    "cell stiffness": "fem.assembly:cell_stiffness",
    "shape gradients": "fem.assembly:tet_gradients",
    "sum of cells": "fem.block_sparse:sum_blocks",
    "mass": "fem.assembly:mass_blocks",
    "Lame constants": "fem.elasticity:Material.lame",
    "face loads": "fem.loads:FaceSamples.spread",
    "split loads": "fem.split_loads:split_forces",
    "pressure": "fem.loads:pressure_forces",
    "body forces": "fem.loads:body_forces",
    "heat": "fem.thermal:thermal_pressure",
    "stress": "fem.stress:cell_stress",
    "recovery": "fem.recovery:Recovery.nodal",
    "patches": "fem.recovery:patch_recovery",
    "stress rotation": "fem.cyclic:stress_rotation",
    "error estimate": "fem.error:surface_errors",
    "surface stress": "fem.surface_stress:SurfaceStress.at_nodes",
    "surface traction": "fem.surface_stress:tractions_of",
    # fem: fronts and sectors
    "dissection": "fem.dissection:dissect",
    "front": "fem.fronts:_eliminate",
    "pivots": "fem.fronts:_assemble_pivots",
    "update": "fem.front_memory:UpdateStack.push",
    "extend-add": "fem.fronts:_extend_add",
    "Schur complement": "fem.fronts:FrontalFactor._assemble_schur",
    "back substitution": "fem.fronts:FrontalFactor.backward",
    "cut": "fem.cuts:TiedCuts.solve",
    "cut's frame": "fem.cuts:rotation",
    "rigid motions": "fem.cyclic:turning_motions",
    "rigid coupling": "fem.sector:Border.work",
    "local solution": "fem.submodel:solve_submodel",
    "local mesh": "screen.local_refinement:refine_locally",
    # cases
    "patch": "cases.tyre_patch:Patch.coefficient",
    "patch orders": "cases.tyre_patch:Patch.orders",
    "seat": "cases.radial:seat_forces",
    "requirement": "cases.procedure:requirements",
    # fatigue
    "amplitude": "fatigue.measures:ellipse_amplitude",
    "mean": "fatigue.measures:mean_stress",
    "Walker": "fatigue.mean_stress:Walker._reversed",
    "FKM": "fatigue.mean_stress:Fkm._reversed",
    "compression": "fatigue.mean_stress:MeanStressRoute.counted",
    "S-N amplitude": "fatigue.sn:PowerLaw._amplitude",
    "S-N life": "fatigue.sn:PowerLaw._cycles",
    "survival": "fatigue.sn:SNLine.survival_factor",
    "strength": "fatigue.assess:strength",
    "surface": "fatigue.knockdowns:surface_factors",
    # screen
    "balls": "screen.adapt:merged",
    "ranking": "screen.ranking:worst_first",
    "peaks": "screen.hotspots:distinct_peaks",
    "verdict": "screen.verdict:judge",
    "bar": "screen.tracked_spots:SpotHistory.bar",
    "index": "fem.grid_convergence:grid_convergence",
    "order": "fem.grid_convergence:observed_order",
    "spot": "screen.tracked_spots:spot_history",
    "equal images": "screen.hotspots:equal_images",
    "similar images": "screen.hotspots:images_at_spokes",
    "mirror plane": "wheel.tables.design:Design.mirror_plane",
    "loop": "screen.adapt:converge",
}


def scaled(factor):
    """What a function gives, times a factor."""
    return lambda right: lambda *a, **n: factor * right(*a, **n)


def wrong(target, make, **options):
    """A patch of a target by its short name."""
    return Wrong(TARGETS[target], make, **options)


def constant(name, value, reader):
    """A constant of the module in which its reader stands."""
    module = TARGETS[reader].partition(":")[0]
    return Constant(f"{module}:{name}", value, TARGETS[reader])


def nodes_swapped(right):
    """Mid-side nodes in the order of another convention."""
    return lambda xi: right(xi)[:, [0, 1, 2, 3, 4, 5, 6, 7, 9, 8]]


def tied_to_the_ground(right):
    """A small spring from every point to the ground."""

    def tied(*arguments):
        pairs = right(*arguments)
        own = (pairs.earlier == pairs.later)[:, None, None]
        return replace(pairs, blocks=pairs.blocks * (1.0 + 1e-3 * own * np.eye(3)))

    return tied


def shear_lost(right):
    """A tenth of the coupling term mu O_ajbi left out."""

    def short(G, dV, lam, mu):
        lost = right(G, dV, 0.0 * lam, mu).transpose(0, 1, 4, 3, 2)
        return right(G, dV, lam, mu) - 0.1 * lost

    return short


def lambda_too_high(right):
    """Lambda a tenth too high, mu right."""
    return lambda self: (1.1 * right(self)[0], right(self)[1])


def mass_too_high(right):
    """Density a tenth too high."""
    return lambda mesh, rho: right(mesh, 1.1 * rho)


def a_child_dropped(right):
    """The last front forgets what its second child left."""

    def dissect(*arguments):
        found = right(*arguments)
        *others, last = found.fronts
        fewer = replace(last, children=last.children[:1])
        return replace(found, fronts=(*others, fewer))

    return dissect


def pivots_too_stiff(right):
    """Pivot blocks one per cent too stiff on their diagonal."""

    def eliminate(F11, F21, F22, number):
        F11[np.diag_indices(len(F11))] *= 1.01
        right(F11, F21, F22, number)

    return eliminate


def border_too_soft(right):
    """Stiffness between a front's pivots and its border one per cent short."""

    def assemble(pairs, front, slot, F11, F21):
        right(pairs, front, slot, F11, F21)
        F21 *= 0.99

    return assemble


def update_too_small(right):
    """Update matrices one per cent too small."""
    return lambda self, number, F22: right(self, number, 0.99 * F22)


def child_added_short(right):
    """What a child left is added one per cent short."""
    return lambda F11, F21, F22, slots, update: right(
        F11, F21, F22, slots, 0.99 * update
    )


def cuts_too_stiff(right):
    """Schur complement of the cuts a tenth too stiff."""

    def assemble(self, *arguments):
        right(self, *arguments)
        self.schur *= 1.1

    return assemble


def border_forgotten(right):
    """A tenth of what the borders moved is lost on the way back."""

    def backward(self, values):
        for panel in self._panels:
            values[panel.border] *= 0.9
        right(self, values)

    return backward


def counter_motion(right):
    """The motions of order one turn the wrong way."""

    def motions(order, count):
        return [(name, vectors.conj()) for name, vectors in right(order, count)]

    return motions


def edge_released(right):
    """The neighbourhood's edge is not held."""

    def solve(submodel, supports, loads, u):
        loose = replace(submodel, free=np.ones_like(submodel.free))
        return right(loose, supports, loads, u)

    return solve


def carried_wrong(right):
    """The displacement carried over is two per cent too large."""
    return lambda submodel, supports, loads, u: right(
        submodel, supports, loads, 1.02 * u
    )


def load_forgotten(right):
    """Loads within the neighbourhood are left out."""

    def solve(submodel, supports, loads, u):
        none = [replace(load, nodal=0.0 * load.nodal) for load in loads]
        return right(submodel, supports, none, u)

    return solve


def far_sighted(factor):
    """Balls count as one within so many times the usual distance."""

    def make(right):
        def merged(spheres):
            wide = [replace(b, radius=factor * b.radius) for b in spheres]
            return tuple(replace(b, radius=b.radius / factor) for b in right(wide))

        return merged

    return make


def never_mirrored(right):
    """Turned images alone, whatever the mirror planes."""
    return lambda wheel, point: right(wheel, point)[: wheel.cyclic.count]


def similar_for_equal(right):
    """Every place that lies alike to its spoke counts as equal."""
    return lambda wheel, point: images_at_spokes(wheel.design, point)


def traction_reversed(right):
    """Pressure pulls on the surface."""

    def tractions(*arguments):
        found = right(*arguments)
        return replace(found, values=-found.values)

    return tractions


def part_alone(right):
    """The last mesh is judged as it was solved, its edge held."""
    return lambda *a: right(*a[:5])


def as_hypersphere(right):
    """The ellipse measure forgets its minor axis."""
    return lambda history, n_turns=None: hypersphere_amplitude(history, n_turns)


def cycles_doubled(right):
    """Cycles counted as reversals."""

    def strength(alloy, quality, demand):
        return right(alloy, quality, replace(demand, cycles=2.0 * demand.cycles))

    return strength


def requirement_halved(right):
    """Half of the cycles asked for."""

    def requirements(*a, **n):
        return [replace(r, cycles=r.cycles / 2.0) for r in right(*a, **n)]

    return requirements


def backwards(right):
    """The order turned round."""

    def ranked(*a, **n):
        return type(found)(reversed(found)) if (found := right(*a, **n)) else found

    return ranked


def steeper(right):
    """S-N slope one too large."""
    return lambda self, x: right(replace(self, exponent=self.exponent + 1.0), x)
