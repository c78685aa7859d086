"""Faults in what judges a solution: load orders, fatigue, places, error bars, verdict.

A fault stands by at least two cases.
"""

from dataclasses import replace

from tests.cases import test_patch, test_procedures
from tests.fatigue import test_assessment as assessment
from tests.fatigue import test_mean_stress_routes as routes
from tests.fatigue import test_sn_lines as lines
from tests.fatigue import test_turning_measures as measures
from tests.screen import test_adapt as adapt
from tests.screen import test_distinct_places as places
from tests.screen import test_error_bars as error_bars
from tests.screen import test_hotspots as hotspots
from tests.screen import test_local_refinement as local
from tests.verification import targets as t
from tests.verification.planted import Constant, Fault, Made, fact
from tests.verification.targets import constant, scaled, wrong


def disc_told(test, *arguments):
    """A fact of distinct places on a disc made anew."""
    return fact(test, Made(places.flat_disc), *arguments)


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
PRESSED = assessment.history_of(
    [[-90, 0, 0, 0, 0, 0], [60 - 11j, 15 + 9j, 2, -20 + 14j, 3j, 5]]
)
SPOTS = (
    Fault(
        "refined balls merged too far",
        (wrong("balls", t.far_sighted(5.0)),),
        (
            fact(places.test_balls_that_hardly_meet_stay_two),
            fact(places.test_both_of_two_near_spots_are_refined_at_once, 20.0),
        ),
    ),
    Fault(
        "refined balls hardly ever merged",
        (wrong("balls", t.far_sighted(0.2)),),
        (
            fact(places.test_a_spot_that_wandered_keeps_its_ball),
            fact(adapt.test_of_two_spheres_about_one_place_the_finer_stays),
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
        "maxima merged within 2 mm",
        (constant("MERGE_RADIUS", 2.0, "peaks"),),
        (disc_told(places.test_a_hill_beside_a_higher_one_is_part_of_it, 102.0),
         disc_told(places.test_a_hill_beside_a_higher_one_is_part_of_it, 108.0)),
    ),
    Fault(
        "a valley of half counts as a ripple",
        (Constant("screen.hotspots:VALLEY", 0.5, "screen.hotspots:_band"),),
        (disc_told(places.test_two_places_on_one_band_are_told_apart_by_a_deep_valley),
         disc_told(places.test_two_places_behind_a_valley_of_a_quarter_are_two)),
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
        slow=True,
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
        (wrong("ranking", t.backwards),),
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
        (wrong("requirement", t.requirement_halved),),
        (
            fact(test_procedures.test_drum_load_and_revolutions),
            fact(test_procedures.test_trailer_wheels_have_their_own_figures),
        ),
    ),
    Fault(
        "cycles counted as reversals",
        (wrong("strength", t.cycles_doubled),),
        (
            fact(assessment.test_a_polished_bar_at_its_own_median_line_has_margin_one),
            fact(assessment.test_as_cast_surface_by_hand),
        ),
    ),
    Fault(
        "amplitude without the minor axis of the ellipse",
        (wrong("amplitude", t.as_hypersphere),),
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
        (wrong("S-N amplitude", t.steeper),),
        (
            fact(lines.test_a356_uses_the_lower_published_set),
            fact(assessment.test_a_polished_bar_at_its_own_median_line_has_margin_one),
        ),
    ),
    Fault(
        "life read from another slope than strength",
        (wrong("S-N life", t.steeper),),
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
