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
# # 5. How does a turning load become a Fourier order?
#
# On the rig the load stands still and the wheel turns, or the other way round; for the
# wheel it is the same.
# Stepping a model through hundreds of positions is a waste: whatever turns is a short
# sum of cosines of the turn angle $\varphi$.

# %%
import matplotlib.pyplot as plt
import numpy as np
from sketch import axis_cross, body, dimension, error_table, force, note, sheet, turn

import spokecheck as sc

plt.style.use("plain.mplstyle")
aluminium = sc.Material(E=70000.0, nu=0.33)
none = np.zeros(3, dtype=complex)

# %% [markdown]
# ## Problem A: a moment of constant size turns
#
# The disc of notebook 4, its hub under the moment $M(\cos\varphi, \sin\varphi, 0)$.

# %%
figure, axes = sheet(4.6, 3.2)
full = np.radians(np.linspace(0.0, 360.0, 121))
circle = np.column_stack([np.cos(full), np.sin(full)])
body(axes, 100.0 * circle)
body(axes, 30.0 * circle, "#8a949e")
force(axes, (0, 0), (54.3, 40.9), "M", (48, 34))
turn(axes, (0, 0), 44, 0, 37, r"$\varphi$", (43, 10))
place = 40.0 * np.array([np.cos(np.radians(150.0)), np.sin(np.radians(150.0))])
axes.plot(*place, "o", color="#1f5a99")
note(axes, place, "stress asked here\n(r = 40 mm, 150 deg)", (-230, 70))
axis_cross(axes, (-160, -95), 25)
plt.show()

# %% [markdown]
# The body is linear, so two positions settle all the others:
# $$\sigma(\varphi) = A\cos\varphi + B\sin\varphi ,$$
# with $A$ from the moment along $x$ and $B$ from the moment along $y$.
# The swing over a turn is $\sqrt{A^2+B^2}$, and no position needs to be tried.
# At 37 degrees, $\cos\varphi = 0.79864$ and $\sin\varphi = 0.60182$.
#
# In one complex number, $S_1 = A + iB$ and $\sigma(\varphi) = \mathrm{Re}\,S_1
# e^{-i\varphi}$: this is Fourier order 1, and the load that makes it is $M(1, i, 0)$.

# %%
M = 20000.0
disc = sc.ring_sector(30.0, 100.0, 5.0, (sc.geometric(6, 3.0), 40, 2), 2.0 * np.pi)
middle = np.array([0.0, 0.0, 2.5])
spot = (*place, 5.0)


def at_angle(degrees):
    """Load: the moment at one position."""
    q = np.radians(degrees)
    return [sc.on_rigid(moment=(M * np.cos(q), M * np.sin(q), 0.0))]


positions = {f"{q}": at_angle(q) for q in (0, 90, 37)}
whole = sc.Body(disc, aluminium)
supports = [sc.fix("outer"), sc.RigidPart("inner", middle)]
solved = sc.solve_cases(whole, supports, positions)
A, B, third = (solved[q].stress_at(spot)[0] for q in ("0", "90", "37"))
cosine, sine = np.cos(np.radians(37.0)), np.sin(np.radians(37.0))
print(f"A = {A:.4f}, B = {B:.4f} MPa, swing {np.hypot(A, B):.4f} MPa")
print(f"{cosine:.5f} A + {sine:.5f} B = {cosine * A + sine * B:.4f} MPa")
print(f"a third solution, at 37 degrees: {third:.4f} MPa")

# %% [markdown]
# The same from one complex solution of order 1, as a wheel is solved:

# %%
held = np.zeros((disc.n_points, 3), dtype=bool)
held[disc.nodes("outer")] = True
grip = sc.Supports(held, (sc.Coupling(disc.nodes("inner"), middle),))
no_forces = np.zeros((disc.n_points, 3), dtype=complex)
order_one = sc.OrderLoad(1, no_forces, none, M * np.array([1.0, 1.0j, 0.0]))
turning = sc.respond(sc.make_body(disc, aluminium), grip, [order_one])
node = int(np.argmin(np.linalg.norm(disc.points - np.array(spot), axis=1)))
S1 = turning.stress[0, node, 0]
# respond recovers stress everywhere, so it is recovered stress that stands beside it
A_node, B_node = (solved[q].recovered_stress[node, 0] for q in ("0", "90"))
print(f"order 1: {S1:.4f}, two solutions: {A_node:.4f} and {B_node:.4f} MPa")

# %% [markdown]
# ## Problem B: a patch of pressure travels round
#
# A tyre presses on its seat over some arc, here
# $p = p_0\cos\frac{\pi\theta}{2\theta_0}$ for $|\theta| \le \theta_0 = 40°$
# (the half-angle usually quoted, from memory).

# %%
a, b, t, p0 = 60.0, 100.0, 20.0, 2.0
figure, axes = sheet(4.6, 3.2)
body(axes, b * circle)
body(axes, a * circle, "white")
for q in np.radians(np.arange(-36.0, 37.0, 8.0)):
    way = np.array([np.cos(q), np.sin(q)])
    size = 34.0 * np.cos(np.pi * q / (2.0 * np.radians(40.0)))
    force(axes, (b + 3 + size) * way, (b + 3) * way)
axes.text(142, 0, "$p_0$", color="#c8501e", va="center")
hatch = {"color": "#222222", "lw": 1.8}
axes.plot(*(a * circle).T, **hatch)
note(axes, (-a, 0), "held", (-46, 18))
dimension(axes, (0, 0), (70.7, 70.7), "b = 100 mm", (-26, -52))
turn(axes, (0, 0), 118, 50, 80, r"$\varphi$", (40, 112))
plt.show()

# %% [markdown]
# ### With pencil and paper
#
# $$p = p_0\left(c_0 + \sum_{m\ge1} 2c_m\cos m(\theta-\varphi)\right),$$
# $$c_m = \frac{a_0\cos m\theta_0}{\pi(a_0^2-m^2)},\quad
# a_0 = \frac{\pi}{2\theta_0} = 2.25 .$$
#
# | $m$ | $\cos m\theta_0$ | $\pi(a_0^2-m^2)$ | $c_m$ |
# |---|---|---|---|
# | 0 | 1 | 15.9043 | 0.14147 |
# | 1 | 0.76604 | 12.7627 | 0.13505 |
# | 2 | 0.17365 | 3.3379 | 0.11705 |
# | 3 | -0.5 | -12.3700 | 0.09095 |
# | 4 | -0.93969 | -34.3612 | 0.06153 |
#
# The force on the wheel comes from order 1 alone, since $\int\cos m\theta\cos\theta\,
# d\theta = 0$ for all others:
# $F = 2\pi c_1\, p_0 b t = 0.84855 \cdot 2 \cdot 100 \cdot 20 = 3394$ N.
# The other orders only say how the force is spread.
#
# Sources: the Fourier integral of the cosine arch, worked out here with
# $2\cos\alpha\cos\beta = \cos(\alpha-\beta) + \cos(\alpha+\beta)$; the patch in place
# of a tyre after Stearns, Srivatsan, Gao, Lam, *Int. J. Rotating Machinery* 2006, 60193
# (formula read in a thesis excerpt that cites it).

# %%
half = np.radians(40.0)
patch = sc.Patch(40.0)
by_hand = [0.14147, 0.13505, 0.11705, 0.09095, 0.06153]
worst = max(abs(patch.coefficient(m) - c) for m, c in enumerate(by_hand))
force_by_hand = 2.0 * np.pi * by_hand[1] * p0 * b * t
orders = list(patch.orders())
print(f"largest difference of the five {worst:.1e}, force {force_by_hand:.1f} N")
print(f"orders that carry 99.9 % of the mean square: 0 to {orders[-1]}")

# %%
theta = np.radians(np.linspace(-180.0, 180.0, 721))
wave = [(2.0 if m else 1.0) * patch.coefficient(m) * np.cos(m * theta) for m in orders]
figure, axes = plt.subplots()
inside = np.abs(theta) <= half
exact = np.where(inside, np.cos(np.pi * theta / (2.0 * half)), 0.0)
axes.fill_between(np.degrees(theta), exact, color="#c9d3dc", label="the patch")
for top in (1, 3, orders[-1]):
    axes.plot(np.degrees(theta), np.sum(wave[: top + 1], axis=0), label=f"0 to {top}")
axes.set_xticks(range(-180, 181, 45))
axes.set_xlabel("angle from the middle of the patch [deg]")
axes.set_ylabel("pressure over $p_0$")
axes.legend(title="orders")
plt.show()

# %% [markdown]
# ### The model, one solution for each order
#
# Order $m$ of the load is $2c_m p_0 e^{im\theta}$, and the answer at any turn angle is
# $u(\varphi) = \mathrm{Re}\sum_m u_m e^{-im\varphi}$.


# %%
def order_load(mesh, m):
    """Nodal forces of order m of the patch."""
    size = (2.0 if m else 1.0) * patch.coefficient(m) * p0

    def wave_of(shape):
        def field(x):
            return size * shape(m * np.arctan2(x[:, 1], x[:, 0]))

        return sc.pressure("outer", field).nodal(mesh)

    return sc.OrderLoad(m, wave_of(np.cos) + 1j * wave_of(np.sin), none, none)


def held_inside(mesh):
    """Supports: the bore is fixed."""
    at = np.zeros((mesh.n_points, 3), dtype=bool)
    at[mesh.nodes("inner")] = True
    return sc.Supports(at)


ring = sc.ring_sector(a, b, t, (4, 60, 1), 2.0 * np.pi)
all_orders = [order_load(ring, m) for m in orders]
answer = sc.respond(sc.make_body(ring, aluminium), held_inside(ring), all_orders)

# %% [markdown]
# And, for comparison, the patch itself at a few positions:

# %%
where = (0, 20, 37, 90, 200)


def patch_at(degrees):
    """Load: the patch at one position."""

    def field(x):
        angle = np.arctan2(x[:, 1], x[:, 0]) - np.radians(degrees)
        off = (angle + np.pi) % (2.0 * np.pi) - np.pi
        near = np.abs(off) < half
        return np.where(near, p0 * np.cos(np.pi * off / (2.0 * half)), 0.0)

    return [sc.pressure("outer", field)]


cases = {f"{q}": patch_at(q) for q in where}
direct = sc.solve_cases(sc.Body(ring, aluminium), [sc.fix("inner")], cases)
spot = int(np.argmin(np.linalg.norm(ring.points - np.array([70.0, 0, t]), axis=1)))
turns = np.radians(np.arange(0.0, 361.0, 2.0))
radial = answer.stress[:, spot, 0]
history = (radial * np.exp(-1j * np.outer(turns, answer.orders))).sum(axis=1).real
exact = np.array([direct[f"{q}"].recovered_stress[spot, 0] for q in where])
phase = np.exp(-1j * np.outer(np.radians(where), answer.orders))
found = (radial * phase).sum(axis=1).real
reaction = direct["0"].reaction("inner")[0]

# %%
figure, axes = plt.subplots()
axes.plot(np.degrees(turns), history, label=f"sum of orders 0 to {orders[-1]}")
axes.plot(where, exact, "o", label="patch solved where it stands")
axes.axhline(0.0, color="#222222", lw=0.8)
axes.set_xticks(range(0, 361, 45))
axes.set_xlabel("turn angle of the load [deg]")
axes.set_ylabel("radial stress at r = 70 mm [MPa]")
axes.legend(loc="center")
plt.show()

# %% [markdown]
# ## One sector instead of the whole
#
# In order $m$ the field repeats from sector to sector up to a phase,
# $u(\text{next sector}) = e^{i 2\pi m/N} R\,u(\text{this one})$, so one sector of $N$
# is enough.
# Orders with the same remainder of $m/N$, or with remainders that add up to $N$, share
# one factorised matrix: for $N = 5$ the remainders 0, 1 and 4, 2 and 3, three matrices
# for as many orders as one likes.
# Source: Thomas, *Int. J. Numer. Methods Eng.* 14 (1979) 81-102 (from memory).

# %%
N = 5
slice_ = sc.ring_sector(a, b, t, (4, 60 // N, 1), 2.0 * np.pi / N)


def in_order(name):
    """Points of a cut, sorted by radius and height."""
    nodes = slice_.nodes(name)
    x = slice_.points[nodes].round(6)
    radius = np.hypot(x[:, 0], x[:, 1]).round(6)
    return nodes[np.lexsort((x[:, 2], radius))]


pairs = np.column_stack([in_order("start"), in_order("end")])
fifth = sc.make_body(slice_, aluminium, sc.Cyclic(N, pairs))
few = [order_load(slice_, m) for m in orders]
small = sc.respond(fifth, held_inside(slice_), few)
probe = int(np.argmin(np.linalg.norm(slice_.points - ring.points[spot], axis=1)))
gap = np.abs(small.stress[:, probe] - answer.stress[:, spot]).max()
print(f"{ring.n_points} points against {slice_.n_points}")
print(f"largest difference of any order's stress: {gap:.1e} MPa")

# %% [markdown]
# ## Error table

# %%
summed = small.stress[:, probe, 0].sum().real
holds = error_table(
    [
        ("A: stress at 37 deg from A and B", "MPa", cosine * A + sine * B, third, 1e-8),
        ("A: real part of order 1", "MPa", A_node, S1.real, 1e-8),
        ("A: imaginary part of order 1", "MPa", B_node, S1.imag, 1e-8),
        ("B: force of the patch", "N", force_by_hand, reaction, 0.005),
        *[
            (f"B: stress, load at {q} deg", "MPa", one, sum_, 0.01)
            for q, one, sum_ in zip(where[:3], exact, found, strict=False)
        ],
        ("B: the same at 0 deg from one sector", "MPa", found[0], summed, 1e-8),
    ]
)
miss = np.abs(found - exact).max() / np.abs(exact).max()
print(f"largest miss at any position, of the largest stress: {miss:.2%}")
assert all((holds, miss < 0.01, worst < 1e-5))
