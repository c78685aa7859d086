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
# # 7. How does a solid solve plane problems and torsion?
#
# Handbooks know plane stress, plane strain and torsion; the solver knows solids alone.
# Each is a solid one cell thick under the right supports, so that three recipes are
# enough:
#
# | problem | supports of the slice |
# |---|---|
# | plane strain | both faces held along their normal |
# | plane stress | one face held along its normal, the other free |
# | torsion | both faces turned within their planes, free to warp along the axis |

# %%
import matplotlib.pyplot as plt
import numpy as np
from sketch import body, dimension, error_table, force, note, sheet, turn

import spokecheck as sc

plt.style.use("plain.mplstyle")
E, nu = 70000.0, 0.33
aluminium = sc.Material(E=E, nu=nu)

# %% [markdown]
# ## Problems A and B: a tube under pressure, long and thin

# %%
a, b, p = 20.0, 40.0, 30.0
figure, axes = sheet(6.0, 3.0)
around = np.linspace(0.0, 2.0 * np.pi, 80)
circle = np.column_stack([np.cos(around), np.sin(around)])
body(axes, b * circle)
body(axes, a * circle, "white")
for q in np.radians(np.arange(0.0, 360.0, 45.0)):
    out = np.array([np.cos(q), np.sin(q)])
    force(axes, 0.55 * a * out, 0.97 * a * out)
axes.text(0.0, 0.0, "p", color="#c8501e", ha="center", va="center", fontsize=11)
dimension(axes, (-a, -50), (a, -50), "2a = 40 mm", (0, 8))
dimension(axes, (-b, -62), (b, -62), "2b = 80 mm", (0, 8))
note(axes, (a, 0), "hoop stress is largest here", (55, 25))
plt.show()

# %% [markdown]
# ### With pencil and paper
#
# Lamé: with $A = \frac{p a^2}{b^2 - a^2} = \frac{30 \cdot 400}{1200} = 10$ MPa,
# $\sigma_r = A(1 - b^2/r^2)$ and $\sigma_\theta = A(1 + b^2/r^2)$.
#
# | at $r = a$ | plane strain | plane stress |
# |---|---|---|
# | $\sigma_\theta = A(1 + 4)$ | 50 MPa | 50 MPa |
# | $\sigma_r = A(1 - 4)$ | -30 MPa | -30 MPa |
# | $\sigma_z$ | $\nu(\sigma_r + \sigma_\theta) = 0.33 \cdot 20 = 6.6$ MPa | 0 |
# | $u_r$ | 0.016492 mm | 0.017114 mm |
#
# with, in plane strain,
# $u_r = \frac{1+\nu}{E} A\,((1-2\nu) a + b^2/a) = 1.9 \cdot 10^{-4} \cdot 86.8$ mm,
# and in plane stress
# $u_r = \frac{A}{E}\,((1-\nu) a + (1+\nu) b^2/a) = \frac{10}{70000} \cdot 119.8$ mm.
#
# The stresses across the axis are the same: only what holds the faces differs.
#
# Source: Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., arts. 17 and 28
# (from memory).

# %%
A = p * a**2 / (b**2 - a**2)
hoop, radial = A * (1.0 + (b / a) ** 2), A * (1.0 - (b / a) ** 2)
axial = nu * (hoop + radial)
u_strain = (1.0 + nu) / E * A * ((1.0 - 2.0 * nu) * a + b**2 / a)
u_stress = A / E * ((1.0 - nu) * a + (1.0 + nu) * b**2 / a)
print(
    f"hoop {hoop:.2f} MPa, axial {axial:.2f} MPa, u {u_strain:.6f}, {u_stress:.6f} mm"
)

# %% [markdown]
# ### The model
#
# A quarter between planes of symmetry, one cell thick.

# %%
slice_ = sc.ring_sector(a, b, 2.0, cells=(6, 12, 1))
planes = [sc.symmetry(slice_, "start"), sc.symmetry(slice_, "end")]
inside = [sc.pressure("inner", p)]
held = {"strain": ["bottom", "top"], "stress": ["bottom"]}
tube = {
    name: sc.solve_static(slice_, aluminium, [*planes, sc.fix(faces, "z")], inside)
    for name, faces in held.items()
}
spot = np.array([a * np.cos(np.pi / 4), a * np.sin(np.pi / 4), 1.0])
for name, solution in tube.items():
    r, t, z = sc.cylindrical(solution.stress_at(spot), spot)[:3]
    u = sc.cylindrical(solution.displacement_at(spot), spot)[0]
    print(
        f"plane {name}: radial {r:.2f}, hoop {t:.2f}, axial {z:.2f} MPa, u {u:.6f} mm"
    )

# %%
r = np.linspace(a, b, 40)
diagonal = np.column_stack([r, r, 0.0 * r]) / np.sqrt(2.0) + [0.0, 0.0, 1.0]
along = sc.cylindrical(tube["strain"].stress_at(diagonal), diagonal)
figure, axes = plt.subplots()
for k, name in enumerate(("radial", "hoop", "axial")):
    axes.plot(r, along[:, k], label=name)
axes.plot(r, A * (1.0 + (b / r) ** 2), ":", color="#222222", label="Lamé")
axes.plot(r, A * (1.0 - (b / r) ** 2), ":", color="#222222")
axes.set_xlabel("radius [mm]")
axes.set_ylabel("stress, plane strain [MPa]")
axes.legend()
plt.show()

# %% [markdown]
# One mesh is no proof.
# `error_at` estimates how far the stress is off, and `refined` halves the cells about
# a place until its value stands still.

# %%
done = sc.refined(tube["strain"], [tuple(spot)], tolerance=0.02)
(place,) = done.places
values = ", ".join(f"{value:.2f}" for value in place.values)
print(f"estimated error {100 * tube['strain'].error_at(spot):.1f} %")
print(f"von Mises stress {values} MPa, +/- {100 * place.bar:.1f} %")

# %% [markdown]
# ## Problem C: torsion of a square bar

# %%
side, theta = 20.0, 1.0e-4
figure, axes = sheet(5.0, 2.8)
h = side / 2.0
body(axes, [(-h, -h), (h, -h), (h, h), (-h, h)])
turn(axes, (0.0, 0.0), 5.0, 20.0, 320.0, "T", (4.5, 4.0))
dimension(axes, (-h, -13.0), (h, -13.0), "s = 20 mm", (0, 8))
note(axes, (h, 0.0), "shear is largest in the middle of a side", (16.0, 6.0))
note(axes, (h, h), "none at a corner", (16.0, 12.0))
plt.show()

# %% [markdown]
# ### With pencil and paper
#
# Saint-Venant: $T = 0.1406\, G \theta s^4$ and $\tau_{max} = T/(0.208\, s^3)$, with the
# twist $\theta = 10^{-4}$ rad/mm and $G = E/(2(1+\nu)) = 26\,316$ MPa:
#
# | step | value |
# |---|---|
# | $T = 0.1406 \cdot 26\,316 \cdot 10^{-4} \cdot 160\,000$ | 59 200 N mm |
# | $\tau_{max} = 59\,200/(0.208 \cdot 8000)$ | 35.6 MPa |
# | a round section would have $\tau = G\theta s/2$ | 26.3 MPa |
#
# Source: Timoshenko & Goodier, art. 109, table of rectangular bars (from memory).

# %%
G = E / (2.0 * (1.0 + nu))
T_hand = 0.1406 * G * theta * side**4
shear_hand = T_hand / (0.208 * side**3)
print(f"torque {T_hand:.0f} N mm, largest shear {shear_hand:.2f} MPa")

# %% [markdown]
# ### The model
#
# One end stays, the other turns by $\theta$ times the thickness; neither is held along
# the axis, x, so that the section may warp.
# The torque is the moment of the reactions.

# %%
thick = 2.0
section = sc.beam_block(thick, side, side, cells=(1, 12, 12))
section = sc.moved(section, lambda x: x - [0.0, h, h])


def turned(x):
    """Displacement of the far end."""
    return theta * thick * np.column_stack([0.0 * x[:, 0], -x[:, 2], x[:, 1]])


ends = [sc.fix("root", "yz"), sc.displace("tip", turned, "yz")]
still = [sc.fix(sc.near((0.0, 0.0, 0.0)), "x")]
twisted = sc.solve_static(section, aluminium, [*ends, *still], [])
T = twisted.reaction_moment("tip")[0]
shear = abs(twisted.stress_at((1.0, h, 0.0))[5])
print(f"torque {T:.0f} N mm, shear in the middle of a side {shear:.2f} MPa")

# %% [markdown]
# A bar of any length under a given torque needs no recipe: `face_load` puts it on the
# tip, which stays free to warp.
# Away from the ends it has the stress of the slice.
# By antisymmetry a quarter of the section would do.

# %%
bar = sc.beam_block(80.0, side, side, cells=(8, 6, 6))
bar = sc.moved(bar, lambda x: x - [0.0, h, h])
root = [sc.fix("root", "yz"), sc.fix(sc.near((0.0, 0.0, 0.0)), "x")]
root += [sc.fix(sc.near(x), "x") for x in ((0.0, h, 0.0), (0.0, 0.0, h))]
long = sc.solve_static(
    bar, aluminium, root, [sc.face_load("tip", moment=(T_hand, 0.0, 0.0))]
)
shear_long = abs(long.stress_at((40.0, h, 0.0))[5])
far, near = (long.displacement_at((x, h, 0.0))[2] / h for x in (60.0, 20.0))
print(f"bar: shear {shear_long:.2f} MPa, twist {(far - near) / 40.0:.4e} rad/mm")

# %%
y = np.linspace(-h, h, 61)
edge = np.column_stack([np.full_like(y, 1.0), np.full_like(y, h), y])
figure, axes = plt.subplots()
axes.plot(y, np.abs(twisted.stress_at(edge)[:, 5]), label="square, along a side")
axes.axhline(G * theta * h, ls="--", color="#666666", label="round of that diameter")
axes.set_xlabel("distance from the middle of the side [mm]")
axes.set_ylabel("shear stress [MPa]")
axes.legend()
plt.show()

# %% [markdown]
# Corners carry no shear: the outer parts of a section, which help most in a round one,
# are lost in a square one.
#
# ## Error table

# %%
measured = {}
for name, solution in tube.items():
    stress = sc.cylindrical(solution.stress_at(spot), spot)
    shift = sc.cylindrical(solution.displacement_at(spot), spot)[0]
    measured[name] = (*stress[:3], shift)
strain, plane = measured["strain"], measured["stress"]
holds = error_table(
    [
        ("plane strain: hoop stress", "MPa", hoop, strain[1], 0.01),
        ("plane strain: axial stress", "MPa", axial, strain[2], 0.02),
        ("plane strain: radial displacement", "mm", u_strain, strain[3], 0.005),
        ("plane stress: hoop stress", "MPa", hoop, plane[1], 0.01),
        ("plane stress: radial displacement", "mm", u_stress, plane[3], 0.005),
        ("torsion: torque of the slice", "N mm", T_hand, T, 0.005),
        ("torsion: largest shear of the slice", "MPa", shear_hand, shear, 0.01),
        ("torsion: largest shear of the bar", "MPa", shear_hand, shear_long, 0.02),
        ("torsion: twist of the bar", "rad/mm", theta, (far - near) / 40.0, 0.01),
    ]
)
free = abs(plane[2]) < 0.01 * hoop
assert all((holds, free, done.settled))
