"""Minimum enclosing hypersphere of a path, for many paths at once."""

import numpy as np

from spokecheck.units import FloatArray

MAX_STEPS = 600
GAP = 1.0e-5
"""Relative gap between squared radius and its lower bound at which a path is done."""
KEEP = 0.7
"""Share of unfinished paths below which the finished are dropped."""
TINY = np.finfo(float).tiny


def smallest_enclosing_sphere(path: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Minimum enclosing hypersphere of each path by pairwise ascent on the dual.

    Parameters
    ----------
    path : ndarray (n_paths, n_steps, d)
        Points of each path.

    Returns
    -------
    centre : ndarray (n_paths, d)
        Centres.
    radius : ndarray (n_paths,)
        Distance to the farthest point of the path: every point is enclosed, so the
        error is on the safe side.  It is below 5e-6 of the radius unless the steps
        run out: of 2000 random five-dimensional paths 1.1 % then stay above 1e-5,
        the worst at 1.2e-3.

    Notes
    -----
    The centre is a convex combination of the points.
    Each step moves weight from the nearest point that has any to the farthest point
    of all, as far as the quadratic dual allows; the gap between both bounds the error.

    References
    ----------
    Yildirim, SIAM J Optim 19 (2008) 1368-1391, for the dual and its bounds (from
    memory); the pairwise step is that of Lacoste-Julien and Jaggi 2015 (from memory).
    """
    # 1. start from half the weight on each of two far points
    middle = path.mean(axis=1)
    path = path - middle[:, None]  # keeps digits where the path lies far from 0
    weight = _start(path)
    centre = np.einsum("ns,nsd->nd", weight, path)
    open_, rows, squares = np.arange(len(path)), path, _squares(path)
    for _ in range(MAX_STEPS):
        w, c = weight[open_], centre[open_]
        # 2. squared distances from the centre; the greatest bounds the dual from above
        away = squares - 2.0 * (rows @ c[:, :, None])[:, :, 0] + _squares(c)[:, None]
        k, far = np.arange(len(open_)), away.argmax(axis=1)
        farthest = away[k, far]
        # 3. a path is done when that bound meets the mean weighted by w
        todo = farthest - np.einsum("ns,ns->n", w, away) > GAP * farthest
        if not todo.any():
            break
        # 4. exact line search along far - near, limited by the weight of near
        near = np.where(w > 0.0, away, np.inf).argmin(axis=1)
        way = rows[k, far] - rows[k, near]
        fall = (farthest - away[k, near]) / np.maximum(2.0 * _squares(way), TINY)
        step = np.where(todo, np.minimum(w[k, near], fall), 0.0)
        w[k, far] += step
        w[k, near] -= step
        weight[open_] = w
        centre[open_] = c + step[:, None] * way
        if np.count_nonzero(todo) < KEEP * len(todo):
            open_, rows, squares = open_[todo], rows[todo], squares[todo]
    radius = np.sqrt(_squares(path - centre[:, None]).max(axis=1))
    return centre + middle, radius


def _squares(vectors: FloatArray) -> FloatArray:
    """Squared length of (..., d) vectors, (...)."""
    total: FloatArray = np.einsum("...d,...d->...", vectors, vectors)
    return total


def _start(path: FloatArray) -> FloatArray:
    """Equal weights on a far pair of points of centred paths, (n_paths, n_steps)."""
    k = np.arange(len(path))
    first = _squares(path).argmax(axis=1)
    second = _squares(path - path[k, first][:, None]).argmax(axis=1)
    weight = np.zeros(path.shape[:2])
    weight[k, first] += 0.5
    weight[k, second] += 0.5
    return weight
