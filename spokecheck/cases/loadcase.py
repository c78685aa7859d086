"""The load case: the record of one test's loads and supports."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from spokecheck.fem.orders import OrderLoad, Supports
from spokecheck.units import FloatArray


@dataclass(frozen=True)
class Assumption:
    """An assumption of a load model at one value, such as a patch of 30 degrees."""

    name: str
    value: float
    unit: str = ""


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
