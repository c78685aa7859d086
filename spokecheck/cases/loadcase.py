"""The load case: the record of one test's loads and supports."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from spokecheck.fem.orders import OrderLoad, Supports
from spokecheck.units import ComplexArray, FloatArray


@dataclass(frozen=True)
class Assumption:
    """An assumption of a load model at one value, such as a patch of 30 degrees."""

    name: str
    value: float
    unit: str = ""


@dataclass(frozen=True)
class SurfaceTraction:
    """What a load does to the area of some surfaces: their stress is to agree with it.

    Attributes
    ----------
    where : tuple of str
        Surfaces.
    pressure : float
        Into the body [MPa], times ``exp(i order theta)``.
    order : int
        Fourier order of the pressure.
    push : tuple of float
        Force per area [MPa] along x, y, z, the same everywhere.
    """

    where: tuple[str, ...]
    pressure: float = 0.0
    order: int = 0
    push: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def at(self, x: FloatArray, n: FloatArray) -> ComplexArray:
        """Tractions (n, 3) [MPa] at positions (n, 3) with outward normals (n, 3)."""
        turn = np.exp(1j * self.order * np.arctan2(x[:, 1], x[:, 0]))
        return np.asarray(-self.pressure * turn[:, None] * n + np.array(self.push))


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
        What is solved; several may share an order.
    size : float
        Size of the turning load: moment [N mm] or force [N].
    steady : tuple of int
        Loads that do not grow with the test's level: inflation, spin, bolts.
    gains : ndarray (n_loads,) or None
        What each solved load is multiplied by; None for 1.
    variants : mapping of Assumption to ndarray (n_loads,)
        Gains of other assumptions, for sensitivities.
    pressed : tuple of str
        Surfaces on which a contact pressure is assumed, not computed.
    notes : tuple of str
        Remarks on the model, for reports.
    tractions : tuple of tuple of SurfaceTraction
        What each load does to the surface; where nothing is given it is free.
    """

    name: str
    supports: Supports
    loads: tuple[OrderLoad, ...]
    size: float
    steady: tuple[int, ...] = ()
    gains: FloatArray | None = field(default=None, repr=False)
    variants: Mapping[Assumption, FloatArray] = field(default_factory=dict, repr=False)
    pressed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    tractions: tuple[tuple[SurfaceTraction, ...], ...] = field(default=(), repr=False)

    def weights(
        self, level: float = 1.0, variant: Assumption | None = None
    ) -> FloatArray:
        """Multiplier of each solved load.

        Parameters
        ----------
        level : float
            Share of ``size`` at which the test is run.
        variant : Assumption, optional
            One of ``variants``.

        Returns
        -------
        ndarray (n_loads,)
        """
        gains = np.ones(len(self.loads)) if self.gains is None else self.gains
        if variant is not None:
            gains = self.variants[variant]
        scale = np.full(len(self.loads), level)
        scale[list(self.steady)] = 1.0
        return np.asarray(gains * scale)
