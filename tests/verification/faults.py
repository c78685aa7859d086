"""The faults that are planted, and the cases that must see each of them.

``TARGETS`` names what is patched, once; a target that is gone is an error of the row.
A fault stands by at least two cases, and every handbook case sees at least one.
"""

from dataclasses import replace

import numpy as np

from tests.cases import test_patch, test_procedures
from tests.fatigue import test_assessment as assessment
from tests.fatigue import test_mean_stress_routes as routes
from tests.fatigue import test_sn_lines as lines
from tests.fatigue import test_turning_measures as measures
from tests.fem import test_element as element
from tests.fem import test_modal as modal
from tests.fem import test_recovery as recovery
from tests.fem import test_sector_known_answers as sectors
from tests.fem import test_static as static
from tests.fem import test_submodel as submodels
from tests.screen import notched
from tests.screen import test_adapt as adapt
from tests.screen import test_distinct_places as places
from tests.screen import test_error_bars as error_bars
from tests.screen import test_hotspots as hotspots
from tests.screen import test_local_refinement as local
from tests.verification.planted import Constant, Fault, Made, Wrong, fact, handbook

TARGETS = {
    # fem: cells, loads, stress
    "cell stiffness": "fem.assembly:cell_stiffness",
    "shape gradients": "fem.assembly:tet_gradients",
    "sum of cells": "fem.block_sparse:sum_blocks",
    "mass": "fem.assembly:assemble_mass",
    "Lame constants": "fem.elasticity:Material.lame",
    "face loads": "fem.loads:FaceSamples.spread",
    "pressure": "fem.loads:pressure_forces",
    "body forces": "fem.loads:body_forces",
    "heat": "fem.thermal:thermal_pressure",
    "stress": "fem.stress:cell_stress",
    "recovery": "fem.recovery:Recovery.nodal",
    "patches": "fem.recovery:patch_recovery",
    "stress rotation": "fem.cyclic:stress_rotation",
    "jump estimate": "fem.error:errors_at",
    # fem: fronts and sectors
    "dissection": "fem.dissection:dissect",
    "front": "fem.fronts:_eliminate",
    "front's stiffness": "fem.fronts:_scatter",
    "sum of fronts": "fem.fronts:_extend",
    "backward": "fem.fronts:FrontalFactor.backward",
    "cut": "fem.sector:_Cut.solve",
    "cut's frame": "fem.sector:rotation",
    "rigid motions": "fem.cyclic:turning_motions",
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
    "bar": "screen.tracked_spots:error_bar",
    "spot": "screen.tracked_spots:spot_history",
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


def a_child_dropped(right):
    """The last front forgets what its second child left."""

    def dissect(*arguments):
        found = right(*arguments)
        *others, last = found.fronts
        assert len(last.parts) == 2
        return replace(found, fronts=(*others, replace(last, parts=last.parts[:1])))

    return dissect


def pivot_too_high(right):
    """Pivot blocks one per cent too high on their diagonal."""

    def eliminate(square, below, rest, number):
        square[np.diag_indices(len(square))] *= 1.01
        right(square, below, rest, number)

    return eliminate


def update_too_small(right):
    """One per cent of each front's update matrix lost."""

    def eliminate(square, below, rest, number):
        before = rest.copy()
        right(square, below, rest, number)
        rest += 0.01 * (before - rest)

    return eliminate


def columns_misplaced(right):
    """What an earlier front left is added one per cent short."""

    def extend(square, below, rest, at, left):
        right(square, below, rest, at, 0.99 * left)

    return extend


def below_lost(right):
    """Stiffness between a front and later points one per cent short."""

    def scatter(pairs, front, slot, square, below):
        right(pairs, front, slot, square, below)
        below *= 0.99

    return scatter


def not_put_back(right):
    """Values a front found are one per cent too high on the way back."""

    def backward(self, values):
        right(self, values)
        values[self._panels[0].own] *= 1.01

    return backward


def counter_motion(right):
    """The motions of order one turn the wrong way."""

    def motions(order, count):
        return [(name, vectors.conj()) for name, vectors in right(order, count)]

    return motions


def edge_released(right):
    """The neighbourhood's edge is not held."""

    def solve(near, supports, loads, u):
        loose = replace(near, free=np.ones_like(near.free))
        return right(loose, supports, loads, u)

    return solve


def carried_wrong(right):
    """The displacement carried over is two per cent too large."""
    return lambda near, supports, loads, u: right(near, supports, loads, 1.02 * u)


def load_forgotten(right):
    """Loads within the neighbourhood are left out."""

    def solve(near, supports, loads, u):
        none = [replace(load, nodal=0.0 * load.nodal) for load in loads]
        return right(near, supports, none, u)

    return solve


def far_sighted(factor):
    """Balls count as one within so many times the usual distance."""

    def make(right):
        def merged(old, new):
            wide = [
                [replace(b, radius=factor * b.radius) for b in bs] for bs in (old, new)
            ]
            return tuple(replace(b, radius=b.radius / factor) for b in right(*wide))

        return merged

    return make


def as_hypersphere(right):
    """The ellipse measure forgets its minor axis."""
    from spokecheck.fatigue.measures import hypersphere_amplitude

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


def disc_told(test):
    """A fact of distinct places on a disc made anew."""
    return fact(test, Made(places.flat_disc))


def on_bar(test):
    """A fact of the static solver on its short bar."""
    return fact(test, Made(lambda: static.beam_block(10.0, 4.0, 2.0, (4, 2, 2))))


def afresh(case):
    """A case about error bars that solves its meshes anew, under the fault too."""

    def green():
        for solved in (error_bars.hole, error_bars.handbook):
            solved.cache_clear()
        try:
            return case.green()
        finally:
            for solved in (error_bars.hole, error_bars.handbook):
                solved.cache_clear()

    return replace(case, green=green)


PRESSED = assessment.history_of(
    [[-90, 0, 0, 0, 0, 0], [60 - 11j, 15 + 9j, 2, -20 + 14j, 3j, 5]]
)
MICHELL = fact(sectors.test_a_sector_of_a_ring_under_waves_of_pressure_is_michells, 2)
MIRRORED = fact(sectors.test_a_sector_of_a_ring_under_waves_of_pressure_is_michells, 3)
LAME = fact(sectors.test_a_sector_of_a_thick_ring_under_pressure_is_lames)
WHOLE = fact(sectors.test_a_sector_is_the_whole_body_in_phase)
BALANCE = fact(sectors.test_reactions_of_a_sector_balance_a_turning_moment)
DENSE = fact(sectors.test_a_sector_is_what_a_dense_solver_gives, 2)

UNSEEN_HOLE, UNSEEN_FINER = (
    fact(
        error_bars.test_one_refinement_that_does_not_see_a_hole_is_not_trusted,
        *mesh,
    )
    for mesh in error_bars.UNSEEN
)


def coarse_notch(name):
    """The bar of a handbook notch's coarsest mesh."""
    truth = dict(error_bars.COARSE)[name]
    test = error_bars.test_a_coarse_bar_covers_the_truth_and_no_more_than_eight_times_it
    return fact(test, name, truth)


def refined_notch(name):
    """The bar of a handbook notch refined once."""
    test = error_bars.test_a_refinement_narrows_the_bar_and_it_covers_the_truth
    return fact(test, name, dict(error_bars.COARSE)[name])


def fine_notch(name):
    """The bar of a handbook notch refined twice."""
    test = error_bars.test_the_bar_of_a_fine_mesh_is_a_few_per_cent
    return fact(test, name, dict(error_bars.COARSE)[name])


FINE_HOLE = fact(
    error_bars.test_a_mesh_that_was_fine_at_once_has_the_least_bar, (3, 4), 4
)
SHOULDER, WIDE_SHOULDER = (
    fact(local.test_the_bars_at_a_shoulder_cover_what_a_fine_mesh_gives, 2, out)
    for out in (2, 4)
)
NEAR_HOLE, NEAR_STEP = (
    fact(local.test_the_held_edge_costs_a_notch_little, bar, label=label)
    for label, bar in (
        ("hole", notched.holed_plate(2)),
        ("step", notched.stepped_bar(4)),
    )
)
STAYS = fact(
    submodels.test_a_neighbourhood_of_a_balanced_body_stays_as_it_is, (60.0, 40.0, 5.0)
)
ACROSS = fact(
    submodels.test_a_neighbourhood_of_a_balanced_body_stays_as_it_is, (75.0, 0.0, 0.0)
)

SOLID = (
    Fault(
        "cell stiffness a tenth too high",
        (wrong("cell stiffness", scaled(1.1)),),
        (handbook("p06"), handbook("p09", 1), handbook("p11", 1), handbook("p36", 1),
         handbook("p37", 1), LAME, MICHELL),
    ),
    Fault(
        "a tenth of the shear coupling lost",
        (wrong("cell stiffness", shear_lost),),
        (handbook("p05", 1), handbook("p33"), handbook("p34", 1), handbook("p32", 2),
         LAME),
    ),
    Fault(
        "two mid-side nodes exchanged",
        (wrong("shape gradients", nodes_swapped, here=True),),
        (handbook("p07"), handbook("p08"), handbook("p40", 1), DENSE, LAME),
    ),
    Fault(
        "every point tied to the ground",
        (wrong("sum of cells", tied_to_the_ground),),
        (handbook("p12", 1), handbook("p16", 1), handbook("p39", 1), LAME),
    ),
    Fault(
        "lambda a tenth too high",
        (wrong("Lame constants", lambda_too_high),),
        (handbook("p13"), handbook("p28"), handbook("p29", 2), handbook("p30a"),
         handbook("p30b"), LAME),
    ),
    Fault(
        "face loads a tenth too high",
        (wrong("face loads", scaled(1.1)),),
        (handbook("p04", 1), handbook("p17", 2), handbook("p25"), handbook("p26"),
         handbook("p27", 1), LAME),
    ),
    Fault(
        "pressure with the wrong sign",
        (wrong("pressure", scaled(-1.0)),),
        (handbook("p17", 2), LAME, MICHELL),
    ),
    Fault(
        "body forces a tenth too high",
        (wrong("body forces", scaled(1.1)),),
        (handbook("p19"), handbook("p40", 1), on_bar(static.test_hanging_bar)),
    ),
    Fault(
        "stress a tenth too high",
        (wrong("stress", scaled(1.1)),),
        (handbook("p01", 2), handbook("p02", 2), handbook("p20"), handbook("p21a", 2),
         handbook("p21b", 1), handbook("p22a", 2), handbook("p22b", 3),
         handbook("p24a", 2), handbook("p24b", 2), handbook("p31", 2),
         handbook("p35", 2), LAME),
        slow=True,
    ),
    Fault(
        "stress a tenth too high, on large meshes",
        (wrong("stress", scaled(1.1)),),
        (handbook("p10"), handbook("p14"), handbook("p15", 1), handbook("p18"),
         handbook("p23a"), handbook("p23b", 2)),
        slow=True,
    ),
    Fault(
        "stress tensors turned the wrong way",
        (wrong("stress rotation", lambda right: lambda R: right(R.T)),),
        (handbook("p39", 1), handbook("p40", 1), LAME, MICHELL),
    ),
    Fault(
        "heat a tenth too high",
        (wrong("heat", scaled(1.1)),),
        (handbook("p03"), on_bar(static.test_heated_bar_expands_freely),
         on_bar(static.test_heated_bar_between_walls)),
    ),
    Fault(
        "mass a tenth too high",
        (wrong("mass", scaled(1.1)),),
        (handbook("p38"), fact(modal.test_rod_in_tension_modes),
         fact(element.test_mass_of_a_rigid_shift_is_the_mass)),
    ),
    Fault(
        "patches of the recovery a layer too wide",
        (Constant("fem.recovery:QUADRATIC_CELLS", 40, TARGETS["patches"]),),
        (handbook("p20"), handbook("p22a", 2),
         fact(recovery.test_a_wave_of_a_few_cells_is_not_smeared)),
    ),
    Fault(
        "patches of the recovery too small for their fit",
        (Constant("fem.recovery:QUADRATIC_CELLS", 4, TARGETS["patches"]),),
        (handbook("p17", 2), handbook("p22a", 2),
         fact(recovery.test_quadratic_stress_comes_back_at_every_corner)),
    ),
)  # fmt: skip

WHEEL = (
    Fault(
        "phase of the cut reversed",
        (wrong("cut", lambda right: lambda s, left, m, c: right(s, left, -m, c)),),
        (MICHELL, MIRRORED, WHOLE, DENSE),
    ),
    Fault(
        "phase of the recovery's ghosts reversed",
        (wrong("recovery", lambda right: lambda s, stress, m: right(s, stress, -m)),),
        (MICHELL, WHOLE),
    ),
    Fault(
        "frame of the cut turned the wrong way",
        (wrong("cut's frame", lambda right: lambda a: right(-a), here=True),),
        (LAME, MICHELL, DENSE),
    ),
    Fault(
        "motions of the coupling turn the wrong way",
        (wrong("rigid motions", counter_motion),),
        (WHOLE, BALANCE),
    ),
    Fault(
        "pivot blocks of the fronts too high",
        (wrong("front", pivot_too_high),),
        (LAME, DENSE, BALANCE),
    ),
    Fault(
        "update matrices of the fronts too small",
        (wrong("front", update_too_small),),
        (MICHELL, DENSE, BALANCE),
    ),
    Fault(
        "a front's child dropped",
        (wrong("dissection", a_child_dropped),),
        (LAME, MICHELL, DENSE),
    ),
    Fault(
        "what fronts leave is summed short",
        (wrong("sum of fronts", columns_misplaced),),
        (DENSE, BALANCE),
    ),
    Fault(
        "stiffness beyond a front short",
        (wrong("front's stiffness", below_lost),),
        (LAME, DENSE),
    ),
    Fault(
        "back substitution one per cent off in one front",
        (wrong("backward", not_put_back),),
        (DENSE, BALANCE, WHOLE),
    ),
    Fault(
        "edge of the local solution released",
        (wrong("local solution", edge_released),),
        (STAYS, NEAR_HOLE, NEAR_STEP),
    ),
    Fault(
        "displacement carried over two per cent too large",
        (wrong("local solution", carried_wrong),),
        (STAYS, ACROSS, NEAR_HOLE),
    ),
    Fault(
        "loads within the local solution forgotten",
        (wrong("local solution", load_forgotten),),
        (
            fact(
                submodels.test_loads_that_changed_in_the_neighbourhood_are_answered_there,
                1,
            ),
            fact(submodels.test_halved_cells_are_solved_as_in_the_whole),
        ),
    ),
    Fault(
        "local solution reaches one edge instead of three",
        (constant("REACH", 1.0, "local mesh"),),
        (NEAR_HOLE, NEAR_STEP),
    ),
)  # fmt: skip

SPOTS = (
    Fault(
        "refined balls merged too far",
        (wrong("balls", far_sighted(5.0)),),
        (
            fact(places.test_balls_that_hardly_meet_stay_two),
            fact(places.test_both_of_two_near_spots_are_refined_at_once, 20.0),
        ),
    ),
    Fault(
        "refined balls hardly ever merged",
        (wrong("balls", far_sighted(0.2)),),
        (
            fact(places.test_a_spot_that_wandered_keeps_its_ball),
            fact(adapt.test_of_two_balls_about_one_place_the_finer_stays),
        ),
    ),
    Fault(
        "maxima merged within 80 mm",
        (constant("MERGE_RADIUS", 80.0, "peaks"),),
        (disc_told(places.test_two_notches_a_spoke_apart_stay_two),
         disc_told(places.test_two_places_on_one_band_are_told_apart_by_a_deep_valley),
         disc_told(places.test_places_are_told_worst_first)),
    ),
    Fault(
        "first move counted once",
        (constant("FIRST", 1.0, "spot"),),
        (UNSEEN_HOLE, UNSEEN_FINER),
    ),
    Fault(
        "first move counted ten times",
        (constant("FIRST", 10.0, "spot"),),
        (refined_notch("p22a"), refined_notch("p22b")),
    ),
    Fault(
        "jump of an unrefined place counted once",
        (constant("UNREFINED", 1.0, "bar"),),
        (coarse_notch("p22a"), coarse_notch("p24b"), UNSEEN_HOLE),
    ),
    Fault(
        "jump of an unrefined place counted twenty times",
        (constant("UNREFINED", 20.0, "bar"),),
        (coarse_notch("p22a"), coarse_notch("p22b")),
    ),
    Fault(
        "error bar without a floor",
        (constant("LEAST_BAR", 0.0, "bar"),),
        (SHOULDER, WIDE_SHOULDER),
    ),
    Fault(
        "floor of the error bar at a tenth",
        (constant("LEAST_BAR", 0.1, "bar"),),
        (FINE_HOLE, fine_notch("p24a"), fine_notch("p24b")),
    ),
    Fault(
        "jump estimate too small",
        (wrong("jump estimate", scaled(0.1)),),
        (afresh(coarse_notch("p22a")), afresh(UNSEEN_HOLE)),
    ),
    Fault(
        "jump estimate too large",
        (wrong("jump estimate", scaled(10.0)),),
        (afresh(coarse_notch("p22a")), afresh(coarse_notch("p22b"))),
    ),
    Fault(
        "hot spots told in the wrong order",
        (wrong("ranking", backwards),),
        (
            fact(places.test_the_least_margin_ranks_first),
            fact(places.test_spots_of_equal_margin_keep_the_order_of_their_points),
        ),
    ),
)  # fmt: skip

FATIGUE = (
    Fault(
        "orders of the patch without their factor of 2",
        (wrong("seat", scaled(0.5)),),
        (
            fact(test_patch.test_orders_of_a_seat_make_the_patch_turned, 0.0),
            fact(test_patch.test_orders_of_a_seat_make_the_patch_turned, 50.0),
        ),
    ),
    Fault(
        "orders of the patch turn backwards",
        (wrong("seat", lambda right: lambda *a: right(*a).conj()),),
        (
            fact(test_patch.test_orders_of_a_seat_make_the_patch_turned, 50.0),
            fact(test_patch.test_orders_of_a_seat_make_the_patch_turned, 200.0),
        ),
    ),
    Fault(
        "Fourier order of the patch one too high",
        (wrong("patch", lambda right: lambda self, m: right(self, m + 1)),),
        (
            fact(test_patch.test_coefficients_are_those_of_the_integral, 35, 2),
            fact(test_patch.test_order_one_alone_carries_the_resultant),
        ),
    ),
    Fault(
        "too few orders of the patch",
        (wrong("patch orders", lambda right: lambda s, share=0.9: right(s, 0.9)),),
        (
            fact(test_patch.test_the_orders_solved_rebuild_the_patch, 40),
            fact(test_patch.test_orders_of_a_seat_make_the_patch_turned, 50.0),
        ),
    ),
    Fault(
        "half of the cycles asked for",
        (wrong("requirement", requirement_halved),),
        (
            fact(test_procedures.test_drum_load_and_revolutions),
            fact(test_procedures.test_trailer_wheels_have_their_own_figures),
        ),
    ),
    Fault(
        "cycles counted as reversals",
        (wrong("strength", cycles_doubled),),
        (
            fact(assessment.test_a_polished_bar_at_its_own_median_line_has_margin_one),
            fact(assessment.test_as_cast_surface_by_hand),
        ),
    ),
    Fault(
        "amplitude without the minor axis of the ellipse",
        (wrong("amplitude", as_hypersphere),),
        (
            fact(
                measures.test_amplitudes_of_a_bar_in_tension_and_torsion,
                90, 100.0, False,
            ),
            fact(
                assessment.test_the_audit_can_be_redone_on_paper,
                assessment.BIAXIAL, assessment.CAST, "ellipse",
            ),
        ),
    ),
    Fault(
        "mean stress a third of what it is",
        (wrong("mean", scaled(1.0 / 3.0)),),
        (
            fact(measures.test_a_single_pulsating_tension_has_its_own_amplitude_and_mean),
            fact(assessment.test_pulsating_tension_by_hand),
        ),
    ),
    Fault(
        "mean stress of Walker ignored",
        (wrong("Walker", lambda right: lambda self, a, m: right(self, a, 0.0 * m)),),
        (
            fact(assessment.test_pulsating_tension_by_hand),
            fact(routes.test_walker_at_one_half_is_smith_watson_topper),
        ),
    ),
    Fault(
        "mean stress of the guideline ignored",
        (wrong("FKM", lambda right: lambda self, a, m: right(self, a, 0.0 * m)),),
        (
            fact(routes.test_guideline_fields_by_their_printed_factors),
            fact(routes.test_guideline_sensitivities_and_their_walker_exponents),
        ),
    ),
    Fault(
        "compression earns credit in a casting",
        (wrong("compression", lambda right: lambda self, mean: mean),),
        (
            fact(assessment.test_compressive_mean_earns_no_credit_in_a_casting),
            fact(
                assessment.test_the_audit_can_be_redone_on_paper,
                PRESSED, assessment.CAST, "ellipse",
            ),
        ),
    ),
    Fault(
        "S-N slope one too large",
        (wrong("S-N amplitude", steeper),),
        (
            fact(lines.test_a356_uses_the_lower_published_set),
            fact(assessment.test_a_polished_bar_at_its_own_median_line_has_margin_one),
        ),
    ),
    Fault(
        "life read from another slope than strength",
        (wrong("S-N life", steeper),),
        (
            fact(assessment.test_a_polished_bar_at_its_own_median_line_has_margin_one),
            fact(lines.test_6082_line_is_the_regression_of_the_printed_tests),
        ),
    ),
    Fault(
        "survival earns strength instead of costing it",
        (wrong("survival", lambda right: lambda self, p: 1.0 / right(self, p)),),
        (
            fact(assessment.test_as_cast_surface_by_hand),
            fact(
                lines.test_pooled_scatter_of_6061_moves_life_and_stress,
                0.975, 8.7, 0.80,
            ),
        ),
    ),
    Fault(
        "surface left out",
        (wrong("surface", lambda right: lambda rz, rm, group: right(0.0, rm, group)),),
        (
            fact(assessment.test_as_cast_surface_by_hand),
            fact(assessment.test_overriding_the_process_roughness_matters),
        ),
    ),
    Fault(
        "verdict borderline from 1.0 cleared",
        (constant("CLEARS", 1.0, "verdict"),),
        (
            fact(hotspots.test_verdict_at_its_thresholds, 1.1 - 1e-9,
                 hotspots.Verdict.BORDERLINE),
            fact(hotspots.test_verdict_at_its_thresholds, 1.0,
                 hotspots.Verdict.BORDERLINE),
        ),
    ),
    Fault(
        "verdict below 1.0 not told",
        (wrong("verdict", lambda right: lambda margin: right(1.1 * margin)),),
        (
            fact(hotspots.test_verdict_at_its_thresholds, 1.0 - 1e-9,
                 hotspots.Verdict.DOES_NOT_CLEAR),
            fact(hotspots.test_verdict_at_its_thresholds, 1.1 - 1e-9,
                 hotspots.Verdict.BORDERLINE),
        ),
    ),
)  # fmt: skip

FAULTS = (*SOLID, *WHEEL, *SPOTS, *FATIGUE)
