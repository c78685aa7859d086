"""The record that both tests are told in."""

from dataclasses import dataclass

from spokecheck.fem.reduction import Supports
from spokecheck.fem.solve import OrderLoad


@dataclass(frozen=True)
class LoadCase:
    """A test as supports and Fourier orders.

    Attributes
    ----------
    name : str
        ``cornering`` or ``radial``.
    supports : Supports
        What is held and what moves as one.
    loads : tuple of OrderLoad
        One for each order, sorted.
    size : float
        Size of the turning load: moment [N mm] or force [N].
    notes : tuple of str
        What the report has to say about the model.
    """

    name: str
    supports: Supports
    loads: tuple[OrderLoad, ...]
    size: float
    notes: tuple[str, ...] = ()
