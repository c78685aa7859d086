"""Three words for a margin, with their thresholds."""

from enum import StrEnum

CLEARS = 1.10
"""Margin from which a design clears: 1 plus 5 % for the mesh and 5 % for the load model
(own choice)."""


class Verdict(StrEnum):
    """What a screening says of a design; the test house has the last word."""

    CLEARS = "clears"
    BORDERLINE = "borderline"
    DOES_NOT_CLEAR = "does not clear"

    @property
    def rule(self) -> str:
        """The threshold in words."""
        return {
            Verdict.CLEARS: f"worst margin {CLEARS:.2f} or more",
            Verdict.BORDERLINE: f"worst margin from 1.00 to below {CLEARS:.2f}",
            Verdict.DOES_NOT_CLEAR: "worst margin below 1.00",
        }[self]


def judge(margin: float) -> Verdict:
    """Verdict for the worst margin, unrounded.

    Examples
    --------
    >>> [str(judge(m)) for m in (1.1, 1.0999, 1.0, 0.9999)]
    ['clears', 'borderline', 'borderline', 'does not clear']
    """
    if margin >= CLEARS:
        return Verdict.CLEARS
    return Verdict.BORDERLINE if margin >= 1.0 else Verdict.DOES_NOT_CLEAR
