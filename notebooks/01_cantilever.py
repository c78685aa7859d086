# ---
# jupyter:
#   jupytext:
#     text_representation:
#       extension: .py
#       format_name: percent
#   kernelspec:
#     display_name: Python 3
#     language: python
#     name: python3
# ---

# %% [markdown]
# # 1. Where does beam theory stop?
#
# A beam is the shortest way from a force to a stress.
# Here a solid model meets the beam formulas, first where they must agree, then where
# they must not: in a short beam, and close to a clamp.

# %%
import matplotlib.pyplot as plt
import numpy as np
from sketch import body, dimension, error_table, force, note, sheet, wall

import spokecheck as sc

plt.style.use("plain.mplstyle")

# %% [markdown]
# ## The problem

# %%
figure, axes = sheet(7.2, 2.0)
body(axes, [(0, 0), (200, 0), (200, 10), (0, 10)])
wall(axes, (0, -8), (0, 18), -9)
force(axes, (200, 42), (200, 11), "F", (6, -10))
dimension(axes, (0, -16), (200, -16), "L = 200 mm", (0, -9))
dimension(axes, (212, 0), (212, 10), "h = 10, b = 20 mm", (66, 0))
axes.plot([100], [10], "o", color="#1f5a99")
note(axes, (100, 10), "stress asked here, at half length", (62, 34))
axes.set_xlim(-14, 290)
plt.show()

# %% [markdown]
# $E = 70\,000$ MPa, $\nu = 0.33$, $F = 100$ N.
#
# ## With pencil and paper
#
# | step | formula | value |
# |---|---|---|
# | second moment of area | $I = b h^3/12 = 20 \cdot 10^3 / 12$ | 1666.67 mm⁴ |
# | deflection by bending | $F L^3/(3 E I) = 8\cdot10^8 / 3.5\cdot10^8$ | 2.28571 mm |
# | shear modulus | $G = E/(2(1+\nu)) = 70\,000/2.66$ | 26 315.8 MPa |
# | deflection by shear | $F L/(k G b h)$, $k = 5/6$ | 0.00456 mm |
# | tip deflection | sum | 2.29027 mm |
# | moment at half length | $M = F L/2$ | 10 000 N mm |
# | stress at the outer fibre | $M (h/2)/I = 10\,000\cdot5/1666.67$ | 30.0 MPa |
#
# Sources: Gere & Timoshenko, *Mechanics of Materials*, app. G; Roark's *Formulas*,
# 7th ed., table 8.1; $k = 5/6$ for the rectangle (all from memory).

# %%
E, nu, F = 70000.0, 0.33, 100.0
b, h = 20.0, 10.0
inertia, G, k = b * h**3 / 12.0, E / (2.0 * (1.0 + nu)), 5.0 / 6.0


def by_bending(L):
    """Tip deflection of the slender beam."""
    return F * L**3 / (3.0 * E * inertia)


def by_shear(L):
    """What shear adds."""
    return F * L / (k * G * b * h)


# %% [markdown]
# ## The model
#
# Ten lines: a block, a material, what holds it, what loads it.
# The root is clamped first, as one would on a bench.

# %%
aluminium = sc.Material(E=E, nu=nu)
pull = sc.traction("tip", (0.0, 0.0, -F / (b * h)))
beam = sc.beam_block(
    length=200.0, width=b, height=h, cells=(sc.geometric(36, 6.0), 4, 6)
)
clamped = sc.solve_static(beam, aluminium, [sc.fix("root")], [pull])


def sag(solution):
    """Mean deflection of the end face below the mean of the root face."""
    return (solution.mean_displacement("root") - solution.mean_displacement("tip"))[2]


middle = clamped.stress_at((100.0, b / 2.0, h))[0]
lift = clamped.reaction("root")[2]
print(f"tip {sag(clamped):.5f} mm, middle {middle:.3f} MPa, reaction {lift:.4f} N")

# %% [markdown]
# About one per cent stiffer than the formula, while stress and reaction agree.
# Beam theory keeps the root face plane, but lets it contract sideways.
# A clamp does not.
# So hold it as the theory does: $u_x = 0$ on the face, the other motions stopped at two
# points, and the shear force let in as the parabola $\tau = \frac{3F}{2bh}(1-s^2)$,
# $s = 2z/h - 1$.
# The free root face curls a little across the width (anticlastic bending), which is why
# the deflection is counted between the means of both end faces.


# %%
def parabola(x):
    """Shear traction on the root face, upwards."""
    s = 2.0 * x[:, 2] / h - 1.0
    up = 1.5 * F / (b * h) * (1.0 - s**2)
    return np.column_stack([0.0 * s, 0.0 * s, up])


plane_root = [
    sc.fix("root", "x"),
    sc.fix(sc.near((0.0, 0.0, h / 2.0)), "yz"),
    sc.fix(sc.near((0.0, b, h / 2.0)), "z"),
]
loads = [pull, sc.traction("root", parabola)]
free_to_contract = sc.solve_static(beam, aluminium, plane_root, loads)
print(f"tip {sag(free_to_contract):.5f} mm")

# %% [markdown]
# ## First border: the short beam
#
# Shear over bending is
# $$\frac{FL/(kGbh)}{FL^3/(3EI)} = \frac{E}{4kG}\left(\frac hL\right)^2
#   = \frac{1+\nu}{2k}\left(\frac hL\right)^2 = 0.798\left(\frac hL\right)^2 ,$$
# so that bending alone is 0.2 % low at $L/h = 20$, 5 % low at 4, and 20 % at 2.
# Now the length shrinks, all else stays.

# %%
ratios = np.array([20.0, 10.0, 6.0, 4.0, 3.0, 2.0, 1.0])
held, plane = [], []
for ratio in ratios:
    part = sc.beam_block(ratio * h, b, h, (max(6, int(2 * ratio)), 4, 4))
    held.append(sag(sc.solve_static(part, aluminium, [sc.fix("root")], [pull])))
    plane.append(sag(sc.solve_static(part, aluminium, plane_root, loads)))
held, plane = np.array(held), np.array(plane)

# %%
fine = np.linspace(1.0, 20.0, 200)
bending = by_bending(ratios * h)
figure, axes = plt.subplots()
axes.plot(fine, 1.0 + (1.0 + nu) / (2.0 * k) / fine**2, label="bending and shear")
axes.axhline(1.0, color="#666666", label="bending alone", lw=1.2)
axes.plot(ratios, plane / bending, "o", color="#c8501e", label="solid, root plane")
axes.plot(ratios, held / bending, "s", color="#3a7d44", label="solid, root clamped")
axes.set_xscale("log")
axes.set_xticks(ratios, [f"{r:g}" for r in ratios])
axes.minorticks_off()
axes.set_xlabel("slenderness L / h")
axes.set_ylabel("tip deflection over\nthat of bending")
axes.legend()
plt.show()

# %%
print("error of the formula     bending alone        with shear    with shear")
print("  L/h   solid [mm]      to plane root     to plane root      to clamp")
for ratio, one, two in zip(ratios, plane, held, strict=True):
    bend = by_bending(ratio * h)
    both = bend + by_shear(ratio * h)
    print(f"{ratio:5g}{one:13.6f}{bend / one - 1:19.1%}", end="")
    print(f"{both / one - 1:18.1%}{both / two - 1:14.1%}")

# %% [markdown]
# Held as the theory holds it, the solid follows the formula with shear down to lengths
# at which no one would speak of a beam; bending alone is lost below $L/h = 4$.
# Clamped, it is stiffer by something that does not grow with the length, and so counts
# the more the shorter the beam.
#
# ## Second border: close to the clamp
#
# The outer fibre of the slender beam should carry $\sigma = F(L-x)(h/2)/I$.

# %%
x = np.linspace(1.0, 60.0, 60)
sigma = np.array([clamped.stress_at((s, b / 2.0, h))[0] for s in x])
theory = F * (200.0 - x) * (h / 2.0) / inertia
figure, axes = plt.subplots()
axes.plot(x / h, sigma / theory, label="solid model over beam theory")
axes.axhline(1.0, color="#666666", lw=1.2)
axes.axvspan(0.0, 1.0, color="#c8501e", alpha=0.12, lw=0)
top = axes.get_ylim()[1]
axes.text(0.5, top, "one depth", ha="center", va="bottom", color="#c8501e")
axes.set_xlabel("distance from the clamp, in depths h")
axes.set_ylabel("stress ratio")
axes.set_xlim(0.0, 6.0)
axes.legend()
plt.show()
beyond = x > 1.5 * h
away = np.abs(sigma / theory - 1.0)[beyond].max()
print(f"largest misfit beyond one and a half depths: {away:.2%}")

# %% [markdown]
# About one depth from the clamp the disturbance has died out: Saint-Venant's principle.
# At the edge of the clamp itself the exact stress has no limit, so no number read there
# means anything, however fine the mesh.
# Remember this when a wheel is clamped.
#
# ## Error table

# %%
L4 = 4.0 * h
short = by_bending(L4) + by_shear(L4)
long = by_bending(200.0) + by_shear(200.0)
at4 = int(np.flatnonzero(ratios == 4.0)[0])
holds = error_table(
    [
        ("tip, L/h = 20, root plane", "mm", long, sag(free_to_contract), 0.005),
        ("tip, L/h = 20, root clamped", "mm", long, sag(clamped), None),
        ("stress at half length", "MPa", 30.0, middle, 0.005),
        ("reaction", "N", F, lift, 1e-9),
        ("tip, L/h = 4, root plane", "mm", short, plane[at4], 0.01),
        ("tip, L/h = 4, root clamped", "mm", short, held[at4], None),
        ("tip, L/h = 4, bending alone", "mm", by_bending(L4), plane[at4], None),
    ]
)
assert holds
