"""Faults in what judges a solution: load orders, fatigue, places, error bars, verdict.

A fault stands by at least two cases.
"""

from dataclasses import replace

from tests.cases import test_patch, test_procedures
from tests.fatigue import test_assessment as assessment
from tests.fatigue import test_mean_stress_routes as routes
from tests.fatigue import test_sn_lines as lines
from tests.fatigue import test_turning_measures as measures
from tests.fem import test_surface_stress as surfaces
from tests.screen import test_adapt as adapt
from tests.screen import test_distinct_places as places
from tests.screen import test_equal_images as images
from tests.screen import test_error_bars as error_bars
from tests.screen import test_hotspots as hotspots
from tests.screen import test_local_refinement as local
from tests.screen import test_tracked_spots as tracked
from tests.verification import targets as t
from tests.verification.planted import Constant, Fault, Made, fact
from tests.verification.targets import constant, scaled, wrong
from tests.wheel import test_symmetry as symmetry


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
        error_bars.test_one_refinement_that_hardly_sees_a_hole_is_not_trusted,
        *mesh,
    )
    for mesh in error_bars.UNSEEN
)


def coarse_notch(name):
    """The bar of a handbook notch's coarsest mesh."""
    truth = dict(error_bars.COARSE)[name]
    test = error_bars.test_a_coarse_bar_covers_the_truth_and_is_not_wide
    return fact(test, name, truth)


def refined_notch(name):
    """The bar of a handbook notch refined once."""
    test = error_bars.test_one_refinement_settles_a_notch
    return fact(test, name, dict(error_bars.COARSE)[name])


def fine_notch(name):
    """The bar of a handbook notch refined twice."""
    test = error_bars.test_the_bar_of_a_fine_mesh_is_the_least
    return fact(test, name, dict(error_bars.COARSE)[name])


FINE_HOLE = fact(
    error_bars.test_a_mesh_that_was_fine_at_once_has_the_least_bar, (3, 4), 4
)
SHOULDER, WIDE_SHOULDER = (
    fact(
        local.test_the_bars_at_a_shoulder_cover_what_a_fine_mesh_gives, 2, out, 0.01, 3
    )
    for out in (2, 4)
)
SLOW_SERIES, FIRST_ORDER = (
    fact(error_bars.test_a_slow_series_is_covered_by_its_observed_order, order)
    for order in (0.7, 1.0)
)
GROWING, TO_AND_FRO = (
    fact(tracked.test_moves_that_do_not_fall_leave_much_open, series)
    for series in ((141.0, 144.8, 149.1), (100.0, 90.0, 101.0))
)
BOTH_PARTS = fact(tracked.test_amplitude_and_mean_both_have_to_settle)
CONFIRMED_MOVE = fact(tracked.test_an_estimate_that_falls_confirms_the_order)
TWO_MOVES = fact(adapt.test_it_stops_when_the_bars_of_all_first_places_are_small)


def counted(*numbers):
    """Number of places equal to one, by spokes, bolts, sectors and first bolt."""
    return fact(images.test_places_equal_by_symmetry_are_counted, *numbers)


def listed(rest, number):
    """How many of twelve hills are listed."""
    test = images.test_no_place_that_may_fail_to_clear_is_cut_from_the_list
    return disc_told(test, rest, number)


ONE_FAMILY = fact(images.test_two_spokes_of_a_sector_are_two_places_of_one_family)
MIRROR_AND_BOLTS = fact(
    images.test_mirror_images_are_one_place_only_where_bolts_are_mirrored_too
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
            fact(places.test_two_tests_of_one_place_have_one_ball),
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
        "places of high utilisation cut from the list",
        (Constant("screen.hotspots:HIGH", 2.0, "screen.hotspots:_is_low"),),
        (listed(0.76, 12), listed(0.9, 12)),
    ),
    Fault(
        "low places kept in the list",
        (Constant("screen.hotspots:LEAST_SHARE", 0.0, "screen.hotspots:_is_low"),),
        (listed(0.39, 1), listed(0.3, 1)),
    ),
    Fault(
        "equal images without those of the mirror",
        (wrong("equal images", t.never_mirrored),),
        (counted(5, 5, 5, 0.0, 10), counted(7, 5, 1, 0.0, 2), MIRROR_AND_BOLTS,
         fact(images.test_an_image_lies_where_the_mirror_puts_it)),
    ),
    Fault(
        "similar places taken for equal",
        (wrong("equal images", t.similar_for_equal),),
        (counted(7, 5, 1, 0.0, 2), counted(8, 4, 4, 0.0, 8), ONE_FAMILY,
         MIRROR_AND_BOLTS),
    ),
    Fault(
        "spokes mirrored without their bolts",
        (wrong("mirror plane", lambda right: lambda self: 0.0),),
        (counted(5, 5, 5, 10.0, 5),
         fact(symmetry.test_bolts_anywhere_else_leave_none, 10.0),
         fact(symmetry.test_swept_spokes_have_none, "one")),
    ),
    Fault(
        "similar places taken for unlike",
        (wrong("similar images", lambda right: lambda *a: right(*a)[:1]),),
        (ONE_FAMILY, MIRROR_AND_BOLTS,
         fact(images.test_similar_places_lie_at_all_spokes, 7, 5, 1, 14)),
    ),
    Fault(
        "move of two meshes counted once",
        (constant("TWO_MESHES", 1.0, "index"),),
        (UNSEEN_FINER, BOTH_PARTS, TWO_MOVES),
    ),
    Fault(
        "move of two meshes counted ten times",
        (constant("TWO_MESHES", 10.0, "index"),),
        (BOTH_PARTS, CONFIRMED_MOVE),
    ),
    Fault(
        "a confirmed move counted ten times",
        (constant("CONFIRMED", 10.0, "index"),),
        (refined_notch("p22a"), CONFIRMED_MOVE),
    ),
    Fault(
        "a place hardly seen confirmed all the same",
        (constant("UNSEEN", 1.0, "index"),),
        (UNSEEN_FINER, CONFIRMED_MOVE),
    ),
    Fault(
        "no safety with an observed order",
        (constant("THREE_MESHES", 0.3, "index"),),
        (SLOW_SERIES, FIRST_ORDER),
    ),
    Fault(
        "fourth order taken for granted",
        (constant("FORMAL_ORDER", 4.0, "index"),),
        (UNSEEN_FINER, BOTH_PARTS, TWO_MOVES),
    ),
    Fault(
        "no order observed at all",
        (constant("NOISE", 0.5, "index"),),
        (SLOW_SERIES, GROWING, TO_AND_FRO),
    ),
    Fault(
        "a growing move taken for convergence",
        (constant("LEAST_ORDER", 1.9, "order"),),
        (GROWING, TO_AND_FRO, SLOW_SERIES),
    ),
    Fault(
        "estimate of an unrefined place counted a tenth",
        (constant("UNREFINED", 0.1, "bar"),),
        (coarse_notch("p22a"), UNSEEN_HOLE, UNSEEN_FINER),
    ),
    Fault(
        "estimate of an unrefined place counted fifteen times",
        (constant("UNREFINED", 15.0, "bar"),),
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
        "error estimate too small",
        (wrong("error estimate", scaled(0.1)),),
        (afresh(coarse_notch("p22a")), afresh(UNSEEN_HOLE)),
    ),
    Fault(
        "error estimate too large",
        (wrong("error estimate", scaled(10.0)),),
        (afresh(coarse_notch("p22a")), afresh(coarse_notch("p22b"))),
    ),
    Fault(
        "surface stress a tenth too high",
        (wrong("surface stress", scaled(1.1)),),
        (fact(surfaces.test_a_hole_in_a_plate_meets_kirsch_on_a_coarse_mesh),
         fact(surfaces.test_a_pressed_sphere_meets_lame_on_a_coarse_mesh),
         afresh(refined_notch("p24a"))),
    ),
    Fault(
        "traction at the surface with the wrong sign",
        (wrong("surface traction", t.traction_reversed),),
        (fact(surfaces.test_uniform_stress_is_exact_on_a_distorted_mesh),
         fact(surfaces.test_a_pressed_sphere_meets_lame_on_a_coarse_mesh)),
    ),
    Fault(
        "last mesh not solved as a whole",
        (wrong("loop", t.part_alone),),
        (fact(adapt.test_the_last_mesh_is_solved_as_a_whole),
         fact(local.test_what_the_loop_ends_with_is_in_balance_as_a_whole)),
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
        (wrong("verdict", lambda right: lambda *a: right(*a, required=1.0)),),
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
    Fault(
        "verdict without its error bar",
        (wrong("verdict", lambda right: lambda margin, bar, settled=True: right(
            margin, 0.0, settled)),),
        (
            fact(hotspots.test_the_verdict_is_that_at_the_upper_end_of_the_bar,
                 1.20, 0.10, hotspots.Verdict.BORDERLINE),
            fact(hotspots.test_the_verdict_is_that_at_the_upper_end_of_the_bar,
                 1.02, 0.0201, hotspots.Verdict.DOES_NOT_CLEAR),
        ),
    ),
    Fault(
        "what is not settled judged all the same",
        (wrong("verdict", lambda right: lambda margin, bar, settled: right(
            margin, bar)),),
        (
            fact(hotspots.test_what_is_not_settled_never_clears,
                 9.0, 0.01, hotspots.Verdict.NOT_SETTLED),
            fact(hotspots.test_what_is_not_settled_never_clears,
                 1.05, 0.01, hotspots.Verdict.NOT_SETTLED),
        ),
    ),
)  # fmt: skip
