"""Elliptic plate, thin and thick: stress at the end of the inner ellipse.

References
----------
NAFEMS, The Standard NAFEMS Benchmarks, TNSB Rev. 3, 1990, tests LE1 and LE10, via an
open finite element library; the supports of LE10 from memory.
"""

from spokecheck.fem.actions import pressure
from spokecheck.fem.elasticity import Material
from spokecheck.fem.static import solve_static
from spokecheck.fem.supports import fix
from spokecheck.handbook.case import (
    DISPLACEMENT_RATE,
    STRESS_RATE,
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
)
from spokecheck.mesh.parts import named
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.ruled_blocks import arc, ruled_block
from spokecheck.units import BoolArray, FloatArray

FAMILY = "published benchmarks"
INNER, OUTER = (2000.0, 1000.0), (3250.0, 2750.0)
"""Semi-axes of the two ellipses [mm]."""


def _plate(thickness: float, cells: tuple[int, int, int]) -> Mesh:
    """Quarter between the ellipses; start lies on y = 0, end on x = 0."""
    return ruled_block(
        arc((0.0, 0.0), INNER, 0.0, 90.0),
        arc((0.0, 0.0), OUTER, 0.0, 90.0),
        thickness,
        cells,
        named("inner", "outer", "start", "end", "bottom", "top"),
    )


def _solve_thin(p: Values, n: int) -> Study:
    mesh = _plate(p.t / 2.0, (4 * n, 6 * n, 1))
    supports = [fix("end", "x"), fix("start", "y"), fix("bottom", "z")]
    load = pressure("outer", -p.p)
    return {"solution": solve_static(mesh, Material(E=p.E, nu=0.3), supports, [load])}


P01 = Case(
    id="p01",
    slug="elliptic-membrane",
    family=FAMILY,
    title="Elliptic membrane under outward pressure (LE1)",
    statement=(
        "Quarter between two ellipses, as a thin solid: half its thickness, the "
        "middle plane at z = 0 held along z; outward pressure on the outer edge."
    ),
    source="NAFEMS, TNSB Rev. 3, 1990, test LE1, via an open finite element library",
    basis="seen",
    parameters=[
        Parameter("p", 10.0, "MPa", "outward pressure"),
        Parameter("t", 100.0, "mm", "thickness", 0.0, 300.0),
        Parameter("E", 210000.0, "MPa", "Young's modulus"),
    ],
    solve=_solve_thin,
    quantities=[
        Quantity(
            "sigma_yy at the end of the inner major axis, mid-thickness",
            "MPa",
            lambda p: 9.27 * p.p,
            lambda s, p: float(s["solution"].stress_at((2000.0, 0.0, 0.0))[1]),
            0.02,
            "a plane-stress value; the solid is 0.1 m thick",
            rate=STRESS_RATE,
        ),
        Quantity(
            "u_x at the same point",
            "mm",
            lambda p: -0.10215 * p.p / 10.0 * 210000.0 / p.E,
            lambda s, p: float(s["solution"].displacement_at((2000.0, 0.0, 0.0))[0]),
            0.01,
            "a second reference value of the same open library",
            rate=DISPLACEMENT_RATE,
        ),
    ],
    fineness=3,
)


def _solve_thick(p: Values, n: int) -> Study:
    mesh = _plate(600.0, (4 * n, 6 * n, 2 * n))
    skin = mesh.nodes("outer")

    def on_line(x: FloatArray) -> BoolArray:
        picked = abs(x[:, 2] - 300.0) < 1e-6
        outside = picked.copy()
        outside[:] = False
        outside[skin] = True
        return picked & outside

    supports = [
        fix("end", "x"),
        fix("start", "y"),
        fix("outer", "xy"),
        fix(on_line, "z"),
    ]
    load = pressure("top", p.p)
    return {"solution": solve_static(mesh, Material(E=p.E, nu=0.3), supports, [load])}


P02 = Case(
    id="p02",
    slug="thick-elliptic-plate",
    family=FAMILY,
    title="Thick elliptic plate under pressure (LE10)",
    statement=(
        "The same quarter, 0.6 m thick; the outer face held in plane, its middle line "
        "along z; pressure on the top face."
    ),
    source="NAFEMS, TNSB Rev. 3, 1990, test LE10, via an open finite element library",
    basis="seen",
    parameters=[
        Parameter("p", 1.0, "MPa", "pressure"),
        Parameter("E", 210000.0, "MPa", "Young's modulus"),
    ],
    solve=_solve_thick,
    quantities=[
        Quantity(
            "sigma_yy at the end of the inner major axis, top face",
            "MPa",
            lambda p: -5.38 * p.p,
            lambda s, p: float(s["solution"].stress_at((2000.0, 0.0, 600.0))[1]),
            0.03,
            "the line support is singular, though far from the point",
            rate=STRESS_RATE,
        )
    ],
)

CASES = (P01, P02)
