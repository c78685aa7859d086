"""Faults in what solves a body: cells, loads, stress, sectors, fronts, local solution.

A fault stands by at least two cases, and every handbook case sees at least one.
"""

from tests.fem import test_element as element
from tests.fem import test_modal as modal
from tests.fem import test_recovery as recovery
from tests.fem import test_sector_known_answers as sectors
from tests.fem import test_static as static
from tests.fem import test_submodel as submodels
from tests.screen import notched
from tests.screen import test_local_refinement as local
from tests.verification import targets as t
from tests.verification.planted import Constant, Fault, Made, fact, handbook
from tests.verification.targets import TARGETS, constant, scaled, wrong


def on_bar(test):
    """A fact of the static solver on its short bar."""
    return fact(test, Made(lambda: static.beam_block(10.0, 4.0, 2.0, (4, 2, 2))))


MICHELL = fact(sectors.test_a_sector_of_a_ring_under_waves_of_pressure_is_michells, 2)
MIRRORED = fact(sectors.test_a_sector_of_a_ring_under_waves_of_pressure_is_michells, 3)
LAME = fact(sectors.test_a_sector_of_a_thick_ring_under_pressure_is_lames)
WHOLE = fact(sectors.test_a_sector_is_the_whole_body_in_phase)
BALANCE = fact(sectors.test_reactions_of_a_sector_balance_a_turning_moment)
COUPLED = fact(sectors.test_forces_on_a_rigid_hub_are_those_of_its_resultant)
DENSE = fact(sectors.test_a_sector_is_what_a_dense_solver_gives, 2)

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
        (wrong("cell stiffness", t.shear_lost),),
        (handbook("p03"), handbook("p05", 1), handbook("p17", 2), handbook("p20"),
         handbook("p33"), handbook("p34", 2), handbook("p32", 2),
         LAME),
    ),
    Fault(
        "two mid-side nodes exchanged",
        (wrong("shape gradients", t.nodes_swapped, here=True),),
        (handbook("p07"), handbook("p08"), handbook("p40", 1), DENSE, LAME),
    ),
    Fault(
        "every point tied to the ground",
        (wrong("sum of cells", t.tied_to_the_ground),),
        (handbook("p12", 1), handbook("p16", 1), handbook("p39", 1), LAME),
    ),
    Fault(
        "lambda a tenth too high",
        (wrong("Lame constants", t.lambda_too_high),),
        (handbook("p13"), handbook("p16", 1), handbook("p29", 2), LAME),
    ),
    Fault(
        "lambda a tenth too high, on plates",
        (wrong("Lame constants", t.lambda_too_high),),
        (handbook("p28"), handbook("p30a"), handbook("p30b")),
        slow=True,
    ),
    Fault(
        "face loads a tenth too high",
        (wrong("face loads", scaled(1.1)),),
        (handbook("p04", 1), handbook("p22a", 2), LAME),
    ),
    Fault(
        "loads given by position a tenth too high",
        (wrong("split loads", scaled(1.1)),),
        (handbook("p25"), handbook("p26"), handbook("p27", 1)),
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
        (handbook("p18"), handbook("p20"), LAME),
        slow=True,
    ),
    Fault(
        "surface stress of own parts a tenth too high",
        (wrong("surface stress", scaled(1.1)),),
        (handbook("p01", 2), handbook("p02", 2), handbook("p21a", 2),
         handbook("p21b", 1), handbook("p22a", 2), handbook("p22b", 3),
         handbook("p24a", 2), handbook("p24b", 2), handbook("p31", 2),
         handbook("p35", 4)),
        slow=True,
    ),
    Fault(
        "surface stress of own parts a tenth too high, on large meshes",
        (wrong("surface stress", scaled(1.1)),),
        (handbook("p10"), handbook("p14"), handbook("p15", 1), handbook("p23a"),
         handbook("p23b", 2)),
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
        (on_bar(static.test_heated_bar_expands_freely),
         on_bar(static.test_heated_bar_between_walls)),
    ),
    Fault(
        "mass a tenth too high",
        (wrong("mass", t.mass_too_high),),
        (handbook("p38"), fact(modal.test_rod_in_tension_modes),
         fact(element.test_mass_of_a_rigid_shift_is_the_mass)),
    ),
    Fault(
        "patches of the recovery a layer too wide",
        (Constant("fem.recovery:QUADRATIC_CELLS", 40, TARGETS["patches"]),),
        (fact(recovery.test_a_patch_reaches_no_further_than_it_must),
         fact(recovery.test_a_wave_of_a_few_cells_is_not_smeared)),
    ),
)  # fmt: skip

WHEEL = (
    Fault(
        "phase of the cut reversed",
        (wrong("cut", lambda right: lambda s, left, m: right(s, left, -m)),),
        (MICHELL, MIRRORED, WHOLE, DENSE, handbook("p30a"), handbook("p39", 1)),
    ),
    Fault(
        "phase of the recovery's ghosts reversed",
        (wrong("recovery", lambda right: lambda s, stress, m: right(s, stress, -m)),),
        (MICHELL, WHOLE, handbook("p39", 1)),
    ),
    Fault(
        "frame of the cut turned the wrong way",
        (wrong("cut's frame", lambda right: lambda a: right(-a), here=True),),
        (LAME, MICHELL, DENSE, handbook("p19"), handbook("p25")),
    ),
    Fault(
        "motions of the coupling turn the wrong way",
        (wrong("rigid motions", t.counter_motion),),
        (WHOLE, BALANCE, handbook("p39", 1)),
    ),
    Fault(
        "nodal forces do no work on the coupling",
        (wrong("rigid coupling", scaled(0.0)),),
        (COUPLED, BALANCE),
    ),
    Fault(
        "pivot blocks of the fronts too stiff",
        (wrong("front", t.pivots_too_stiff),),
        (LAME, DENSE, BALANCE, handbook("p12", 1), handbook("p20")),
    ),
    Fault(
        "update matrices of the fronts too small",
        (wrong("update", t.update_too_small),),
        (MICHELL, DENSE, BALANCE, handbook("p07"), handbook("p31", 2)),
    ),
    Fault(
        "a front's child dropped",
        (wrong("dissection", t.a_child_dropped),),
        (LAME, MICHELL, DENSE, handbook("p20"), handbook("p28")),
    ),
    Fault(
        "what children leave is added short",
        (wrong("extend-add", t.child_added_short),),
        (DENSE, BALANCE, handbook("p12", 1)),
    ),
    Fault(
        "stiffness between pivots and border short",
        (wrong("pivots", t.border_too_soft),),
        (LAME, DENSE, handbook("p17", 2)),
    ),
    Fault(
        "Schur complement of the cuts too stiff",
        (wrong("Schur complement", t.cuts_too_stiff),),
        (LAME, DENSE, handbook("p19"), handbook("p25")),
    ),
    Fault(
        "border forgotten in back substitution",
        (wrong("back substitution", t.border_forgotten),),
        (DENSE, BALANCE, WHOLE, handbook("p17", 2), handbook("p38")),
    ),
    Fault(
        "edge of the local solution released",
        (wrong("local solution", t.edge_released),),
        (STAYS, NEAR_HOLE, NEAR_STEP),
    ),
    Fault(
        "displacement carried over two per cent too large",
        (wrong("local solution", t.carried_wrong),),
        (STAYS, ACROSS, NEAR_HOLE),
    ),
    Fault(
        "loads within the local solution forgotten",
        (wrong("local solution", t.load_forgotten),),
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
