"""Integration rules on the reference tetrahedron and triangle.

Weights sum to the reference measure, 1/6 and 1/2.
Each rule names its source, and one test proves every rule to its stated degree.
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.units import FloatArray


@dataclass(frozen=True)
class Rule:
    """An integration rule.

    Attributes
    ----------
    points : ndarray (n_q, d)
        Reference coordinates.
    weights : ndarray (n_q,)
        Weights; their sum is the measure of the reference cell.
    degree : int
        Highest total degree of polynomials integrated exactly.
    source : str
        Where the rule is published.
    """

    points: FloatArray
    weights: FloatArray
    degree: int
    source: str


def conical_rule(dim: int, degree: int) -> Rule:
    """Gauss-Jacobi product rule on a simplex, for any degree.

    Parameters
    ----------
    dim : {2, 3}
        Dimension of the simplex.
    degree : int
        Degree to be exact for, at least 1.

    Returns
    -------
    Rule
        With ``ceil((degree + 1) / 2) ** dim`` points, all inside, all weights positive.
    """
    from scipy.special import roots_jacobi

    n = degree // 2 + 1
    nodes, weights = [], []
    for k in range(dim):
        x, w = roots_jacobi(n, dim - 1 - k, 0)
        nodes.append((x + 1.0) / 2.0)
        weights.append(w / 2.0 ** (dim - k))
    grid = np.meshgrid(*nodes, indexing="ij")
    points = np.empty((n**dim, dim))
    left = np.ones(n**dim)
    for k, axis in enumerate(grid):
        points[:, k] = left * axis.ravel()
        left = left * (1.0 - axis.ravel())
    product = weights[0]
    for w in weights[1:]:
        product = np.multiply.outer(product, w)
    source = "Stroud, Approximate Calculation of Multiple Integrals, 1971, ch. 2"
    return Rule(points, product.ravel(), degree, f"{source} (conical product)")


_A, _B = (5.0 - np.sqrt(5.0)) / 20.0, (5.0 + 3.0 * np.sqrt(5.0)) / 20.0

TET_4 = Rule(
    np.array([[_A, _A, _A], [_B, _A, _A], [_A, _B, _A], [_A, _A, _B]]),
    np.full(4, 1.0 / 24.0),
    2,
    "Hammer, Marlowe, Stroud, Math. Tables Aids Comput. 10 (1956) 130-137",
)
"""Exact for the stiffness of straight cells, and their optimal stress points."""

TRI_6 = Rule(
    np.array(
        [
            [0.445948490915965, 0.445948490915965],
            [0.445948490915965, 0.108103018168070],
            [0.108103018168070, 0.445948490915965],
            [0.091576213509771, 0.091576213509771],
            [0.091576213509771, 0.816847572980459],
            [0.816847572980459, 0.091576213509771],
        ]
    ),
    np.repeat([0.223381589678011 / 2.0, 0.109951743655322 / 2.0], 3),
    4,
    "Dunavant, Int. J. Numer. Methods Eng. 21 (1985) 1129-1148, degree 4",
)
"""For loads on faces: pressure times normal is of degree 4 on a curved TRI6."""
