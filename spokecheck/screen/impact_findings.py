"""Findings of the impact indication, as the JSON has them."""

from dataclasses import dataclass

from spokecheck.screen.json_numbers import Derivation, Number, Share


@dataclass(frozen=True, kw_only=True)
class StruckPlace:
    """A highly stressed place under a strike.

    Attributes
    ----------
    place, alloy : str
    von_mises_mpa : float
        Static von Mises stress at the peak force.
    of_yield : float
        That over Rp0.2; above 1 the figure only says that metal would flow.
    """

    place: str
    alloy: str
    von_mises_mpa: Number
    of_yield: Number


@dataclass(frozen=True, kw_only=True)
class Strike:
    """One position of the striker.

    Attributes
    ----------
    where : str
        ``at a spoke`` or ``between spokes``.
    wheel_stiffness_n_per_mm : float
        At the strike, along the fall.
    peak_force_n : float
        With the rig's mounts as a spring in series.
    peak_force_rigid_mounts_n : float
        An upper bound.
    places : tuple of StruckPlace
        Highest first, at ``peak_force_n``.
    """

    where: str
    wheel_stiffness_n_per_mm: Number
    peak_force_n: Number
    peak_force_rigid_mounts_n: Number
    places: tuple[StruckPlace, ...]


@dataclass(frozen=True, kw_only=True)
class ImpactIndication:
    """Result of the static substitute for the 13-degree impact.

    Attributes
    ----------
    warning : str
        What it is not.
    procedure : str
    energy_n_mm, mount_stiffness_n_per_mm : float
        Of the fall and of the rig's mounts.
    derivation : tuple of Sourced
        Every number they follow from.
    balance_misfit : float
        Misfit of forces and moments, a share of the load.
    strikes : tuple of Strike
    """

    warning: str
    procedure: str
    energy_n_mm: Number
    mount_stiffness_n_per_mm: Number
    derivation: Derivation
    balance_misfit: Share
    strikes: tuple[Strike, ...]
