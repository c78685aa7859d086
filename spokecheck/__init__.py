"""Stress screener for aluminium road-wheel spoke designs: the names for one's own code.

A beam needs no wheel: build a block, name what holds and loads it, solve, ask.

>>> import spokecheck as sc
>>> beam = sc.beam_block(length=200.0, width=20.0, height=10.0, cells=(20, 2, 2))
>>> solution = sc.solve_static(
...     beam,
...     sc.Material(E=70000.0, nu=0.33),
...     supports=[sc.fix("root")],
...     loads=[sc.traction("tip", (0.0, 0.0, -0.5))],
... )
>>> round(float(solution.stress_at((100.0, 10.0, 10.0))[0]), 1)
30.0

A wheel is one call more: ``screen_design(read_design(path))``.
It screens; it does not replace certified testing.

Units: mm, N, MPa, t, s.
Names are imported when first used, so that the command line starts fast.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from spokecheck.cases.cornering import cornering_case
    from spokecheck.cases.procedure import Requirement, requirements
    from spokecheck.cases.radial import BeadLoad, radial_case
    from spokecheck.cases.tyre_patch import Patch
    from spokecheck.errors import (
        CaseError,
        ComputationError,
        DesignError,
        FatigueError,
        InputError,
        InputFileError,
        MeshError,
        ModelError,
        SpokecheckError,
    )
    from spokecheck.fatigue.alloys import Alloy, alloy, read_alloys
    from spokecheck.fatigue.assess import Assessment, assess
    from spokecheck.fatigue.criteria import FatigueLimits, crossland, dang_van, sines
    from spokecheck.fatigue.defects import murakami_amplitude
    from spokecheck.fatigue.findley import findley
    from spokecheck.fatigue.history import StressHistory
    from spokecheck.fatigue.mean_stress import Fkm, Gerber, Goodman, Morrow, Walker
    from spokecheck.fatigue.measures import ellipse_amplitude, greatest_von_mises
    from spokecheck.fatigue.strength import Demand, Quality
    from spokecheck.fatigue.tensors import von_mises
    from spokecheck.fem.actions import (
        PointForces,
        body_force,
        face_load,
        heat,
        on_rigid,
        pressure,
        spin,
        traction,
    )
    from spokecheck.fem.body import Body, Response, make_body, respond
    from spokecheck.fem.cyclic import Cyclic, cyclic_from_faces
    from spokecheck.fem.elasticity import Material
    from spokecheck.fem.line_loads import line_load
    from spokecheck.fem.modal import Modes, solve_modes
    from spokecheck.fem.orders import Coupling, OrderLoad, Supports
    from spokecheck.fem.refined import Refined, RefinedPlace, refined
    from spokecheck.fem.solution import RigidMotion, Solution
    from spokecheck.fem.static import solve_cases, solve_static
    from spokecheck.fem.stress import (
        cylindrical,
        principal_directions,
        principal_stresses,
    )
    from spokecheck.fem.supports import (
        Edge,
        Foundation,
        RigidPart,
        antisymmetry,
        displace,
        fix,
        move_rigidly,
        near,
        slide,
        symmetry,
    )
    from spokecheck.handbook.case import Case
    from spokecheck.handbook.catalogue import families, find_case
    from spokecheck.handbook.convergence import study_convergence
    from spokecheck.handbook.runner import CaseRun, run_case
    from spokecheck.mesh.blocks import (
        block,
        geometric,
        join,
        moved,
        pieces,
        turned_copies,
        zoned,
    )
    from spokecheck.mesh.named_files import read_mesh, read_vtu, write_vtu
    from spokecheck.mesh.notches import (
        Shoulder,
        plate_with_hole,
        shoulder_bar,
        shoulder_shaft,
    )
    from spokecheck.mesh.parts import beam_block, cavity_octant, ring_sector, round_bar
    from spokecheck.mesh.record import Mesh
    from spokecheck.mesh.ruled_blocks import (
        arc,
        chain,
        line,
        panel,
        revolve,
        ruled_block,
    )
    from spokecheck.report.findings.json_report import findings_to_dict, write_json
    from spokecheck.screen.findings import Findings, HotSpot
    from spokecheck.screen.pipeline import screen as screen_design
    from spokecheck.screen.request import Request
    from spokecheck.screen.results import Fields, Screening
    from spokecheck.screen.verdict import Verdict
    from spokecheck.wheel.build import Wheel, build_wheel
    from spokecheck.wheel.meshing.sizing import Fineness
    from spokecheck.wheel.reading.read import parse_design, read_design
    from spokecheck.wheel.tables.design import Design

__all__ = [
    "Alloy",
    "Assessment",
    "BeadLoad",
    "Body",
    "Case",
    "CaseError",
    "CaseRun",
    "ComputationError",
    "Coupling",
    "Cyclic",
    "Demand",
    "Design",
    "DesignError",
    "Edge",
    "FatigueError",
    "FatigueLimits",
    "Fields",
    "Findings",
    "Fineness",
    "Fkm",
    "Foundation",
    "Gerber",
    "Goodman",
    "HotSpot",
    "InputError",
    "InputFileError",
    "Material",
    "Mesh",
    "MeshError",
    "ModelError",
    "Modes",
    "Morrow",
    "OrderLoad",
    "Patch",
    "PointForces",
    "Quality",
    "Refined",
    "RefinedPlace",
    "Request",
    "Requirement",
    "Response",
    "RigidMotion",
    "RigidPart",
    "Screening",
    "Shoulder",
    "Solution",
    "SpokecheckError",
    "StressHistory",
    "Supports",
    "Verdict",
    "Walker",
    "Wheel",
    "alloy",
    "antisymmetry",
    "arc",
    "assess",
    "beam_block",
    "block",
    "body_force",
    "build_wheel",
    "cavity_octant",
    "chain",
    "cornering_case",
    "crossland",
    "cyclic_from_faces",
    "cylindrical",
    "dang_van",
    "displace",
    "ellipse_amplitude",
    "face_load",
    "families",
    "find_case",
    "findings_to_dict",
    "findley",
    "fix",
    "geometric",
    "greatest_von_mises",
    "heat",
    "join",
    "line",
    "line_load",
    "make_body",
    "move_rigidly",
    "moved",
    "murakami_amplitude",
    "near",
    "on_rigid",
    "panel",
    "parse_design",
    "pieces",
    "plate_with_hole",
    "pressure",
    "principal_directions",
    "principal_stresses",
    "radial_case",
    "read_alloys",
    "read_design",
    "read_mesh",
    "read_vtu",
    "refined",
    "requirements",
    "respond",
    "revolve",
    "ring_sector",
    "round_bar",
    "ruled_block",
    "run_case",
    "screen_design",
    "shoulder_bar",
    "shoulder_shaft",
    "sines",
    "slide",
    "solve_cases",
    "solve_modes",
    "solve_static",
    "spin",
    "study_convergence",
    "symmetry",
    "traction",
    "turned_copies",
    "von_mises",
    "write_json",
    "write_vtu",
    "zoned",
]

_HOMES = {
    "Alloy": ("spokecheck.fatigue.alloys", "Alloy"),
    "Assessment": ("spokecheck.fatigue.assess", "Assessment"),
    "BeadLoad": ("spokecheck.cases.radial", "BeadLoad"),
    "Body": ("spokecheck.fem.body", "Body"),
    "Case": ("spokecheck.handbook.case", "Case"),
    "CaseError": ("spokecheck.errors", "CaseError"),
    "CaseRun": ("spokecheck.handbook.runner", "CaseRun"),
    "ComputationError": ("spokecheck.errors", "ComputationError"),
    "Coupling": ("spokecheck.fem.orders", "Coupling"),
    "Cyclic": ("spokecheck.fem.cyclic", "Cyclic"),
    "Demand": ("spokecheck.fatigue.strength", "Demand"),
    "Design": ("spokecheck.wheel.tables.design", "Design"),
    "DesignError": ("spokecheck.errors", "DesignError"),
    "Edge": ("spokecheck.fem.supports", "Edge"),
    "FatigueError": ("spokecheck.errors", "FatigueError"),
    "FatigueLimits": ("spokecheck.fatigue.criteria", "FatigueLimits"),
    "Fields": ("spokecheck.screen.results", "Fields"),
    "Findings": ("spokecheck.screen.findings", "Findings"),
    "Fineness": ("spokecheck.wheel.meshing.sizing", "Fineness"),
    "Fkm": ("spokecheck.fatigue.mean_stress", "Fkm"),
    "Foundation": ("spokecheck.fem.supports", "Foundation"),
    "Gerber": ("spokecheck.fatigue.mean_stress", "Gerber"),
    "Goodman": ("spokecheck.fatigue.mean_stress", "Goodman"),
    "HotSpot": ("spokecheck.screen.findings", "HotSpot"),
    "InputError": ("spokecheck.errors", "InputError"),
    "InputFileError": ("spokecheck.errors", "InputFileError"),
    "Material": ("spokecheck.fem.elasticity", "Material"),
    "Mesh": ("spokecheck.mesh.record", "Mesh"),
    "MeshError": ("spokecheck.errors", "MeshError"),
    "ModelError": ("spokecheck.errors", "ModelError"),
    "Modes": ("spokecheck.fem.modal", "Modes"),
    "Morrow": ("spokecheck.fatigue.mean_stress", "Morrow"),
    "OrderLoad": ("spokecheck.fem.orders", "OrderLoad"),
    "Patch": ("spokecheck.cases.tyre_patch", "Patch"),
    "PointForces": ("spokecheck.fem.actions", "PointForces"),
    "Quality": ("spokecheck.fatigue.strength", "Quality"),
    "Refined": ("spokecheck.fem.refined", "Refined"),
    "RefinedPlace": ("spokecheck.fem.refined", "RefinedPlace"),
    "Request": ("spokecheck.screen.request", "Request"),
    "Requirement": ("spokecheck.cases.procedure", "Requirement"),
    "Response": ("spokecheck.fem.body", "Response"),
    "RigidMotion": ("spokecheck.fem.solution", "RigidMotion"),
    "RigidPart": ("spokecheck.fem.supports", "RigidPart"),
    "Screening": ("spokecheck.screen.results", "Screening"),
    "Shoulder": ("spokecheck.mesh.notches", "Shoulder"),
    "Solution": ("spokecheck.fem.solution", "Solution"),
    "SpokecheckError": ("spokecheck.errors", "SpokecheckError"),
    "StressHistory": ("spokecheck.fatigue.history", "StressHistory"),
    "Supports": ("spokecheck.fem.orders", "Supports"),
    "Verdict": ("spokecheck.screen.verdict", "Verdict"),
    "Walker": ("spokecheck.fatigue.mean_stress", "Walker"),
    "Wheel": ("spokecheck.wheel.build", "Wheel"),
    "alloy": ("spokecheck.fatigue.alloys", "alloy"),
    "antisymmetry": ("spokecheck.fem.supports", "antisymmetry"),
    "arc": ("spokecheck.mesh.ruled_blocks", "arc"),
    "assess": ("spokecheck.fatigue.assess", "assess"),
    "beam_block": ("spokecheck.mesh.parts", "beam_block"),
    "block": ("spokecheck.mesh.blocks", "block"),
    "body_force": ("spokecheck.fem.actions", "body_force"),
    "build_wheel": ("spokecheck.wheel.build", "build_wheel"),
    "cavity_octant": ("spokecheck.mesh.parts", "cavity_octant"),
    "chain": ("spokecheck.mesh.ruled_blocks", "chain"),
    "cornering_case": ("spokecheck.cases.cornering", "cornering_case"),
    "crossland": ("spokecheck.fatigue.criteria", "crossland"),
    "cyclic_from_faces": ("spokecheck.fem.cyclic", "cyclic_from_faces"),
    "cylindrical": ("spokecheck.fem.stress", "cylindrical"),
    "dang_van": ("spokecheck.fatigue.criteria", "dang_van"),
    "displace": ("spokecheck.fem.supports", "displace"),
    "ellipse_amplitude": ("spokecheck.fatigue.measures", "ellipse_amplitude"),
    "face_load": ("spokecheck.fem.actions", "face_load"),
    "families": ("spokecheck.handbook.catalogue", "families"),
    "find_case": ("spokecheck.handbook.catalogue", "find_case"),
    "findings_to_dict": ("spokecheck.report.findings.json_report", "findings_to_dict"),
    "findley": ("spokecheck.fatigue.findley", "findley"),
    "fix": ("spokecheck.fem.supports", "fix"),
    "geometric": ("spokecheck.mesh.blocks", "geometric"),
    "greatest_von_mises": ("spokecheck.fatigue.measures", "greatest_von_mises"),
    "heat": ("spokecheck.fem.actions", "heat"),
    "join": ("spokecheck.mesh.blocks", "join"),
    "line": ("spokecheck.mesh.ruled_blocks", "line"),
    "line_load": ("spokecheck.fem.line_loads", "line_load"),
    "make_body": ("spokecheck.fem.body", "make_body"),
    "move_rigidly": ("spokecheck.fem.supports", "move_rigidly"),
    "moved": ("spokecheck.mesh.blocks", "moved"),
    "murakami_amplitude": ("spokecheck.fatigue.defects", "murakami_amplitude"),
    "near": ("spokecheck.fem.supports", "near"),
    "on_rigid": ("spokecheck.fem.actions", "on_rigid"),
    "panel": ("spokecheck.mesh.ruled_blocks", "panel"),
    "parse_design": ("spokecheck.wheel.reading.read", "parse_design"),
    "pieces": ("spokecheck.mesh.blocks", "pieces"),
    "plate_with_hole": ("spokecheck.mesh.notches", "plate_with_hole"),
    "pressure": ("spokecheck.fem.actions", "pressure"),
    "principal_directions": ("spokecheck.fem.stress", "principal_directions"),
    "principal_stresses": ("spokecheck.fem.stress", "principal_stresses"),
    "radial_case": ("spokecheck.cases.radial", "radial_case"),
    "read_alloys": ("spokecheck.fatigue.alloys", "read_alloys"),
    "read_design": ("spokecheck.wheel.reading.read", "read_design"),
    "read_mesh": ("spokecheck.mesh.named_files", "read_mesh"),
    "read_vtu": ("spokecheck.mesh.named_files", "read_vtu"),
    "refined": ("spokecheck.fem.refined", "refined"),
    "requirements": ("spokecheck.cases.procedure", "requirements"),
    "respond": ("spokecheck.fem.body", "respond"),
    "revolve": ("spokecheck.mesh.ruled_blocks", "revolve"),
    "ring_sector": ("spokecheck.mesh.parts", "ring_sector"),
    "round_bar": ("spokecheck.mesh.parts", "round_bar"),
    "ruled_block": ("spokecheck.mesh.ruled_blocks", "ruled_block"),
    "run_case": ("spokecheck.handbook.runner", "run_case"),
    "screen_design": ("spokecheck.screen.pipeline", "screen"),
    "shoulder_bar": ("spokecheck.mesh.notches", "shoulder_bar"),
    "shoulder_shaft": ("spokecheck.mesh.notches", "shoulder_shaft"),
    "sines": ("spokecheck.fatigue.criteria", "sines"),
    "slide": ("spokecheck.fem.supports", "slide"),
    "solve_cases": ("spokecheck.fem.static", "solve_cases"),
    "solve_modes": ("spokecheck.fem.modal", "solve_modes"),
    "solve_static": ("spokecheck.fem.static", "solve_static"),
    "spin": ("spokecheck.fem.actions", "spin"),
    "study_convergence": ("spokecheck.handbook.convergence", "study_convergence"),
    "symmetry": ("spokecheck.fem.supports", "symmetry"),
    "traction": ("spokecheck.fem.actions", "traction"),
    "turned_copies": ("spokecheck.mesh.blocks", "turned_copies"),
    "von_mises": ("spokecheck.fatigue.tensors", "von_mises"),
    "write_json": ("spokecheck.report.findings.json_report", "write_json"),
    "write_vtu": ("spokecheck.mesh.named_files", "write_vtu"),
    "zoned": ("spokecheck.mesh.blocks", "zoned"),
}
"""Module of each public name, and its name there."""


def __getattr__(name: str) -> object:
    """Import a public name on first use."""
    if name not in _HOMES:
        raise AttributeError(f"module 'spokecheck' has no attribute {name!r}")
    module, own_name = _HOMES[name]
    return getattr(import_module(module), own_name)


def __dir__() -> list[str]:
    """All public names, for completion."""
    return sorted({*globals(), *__all__})
