"""Four words for what a screening says of a design, with their thresholds."""

from enum import StrEnum

CLEARS = 1.10
"""Margin from which a design clears, its error bar taken off, unless the user requires
another: 1 plus 10 % for what the load model leaves open (own choice)."""

LEAST_REQUIRED, MOST_REQUIRED = 1.0, 5.0
"""Bounds of a required margin: below 1 the stress is beyond what the alloy bears."""


class Verdict(StrEnum):
    """What a screening says of a design; the test house has the last word."""

    CLEARS = "clears"
    BORDERLINE = "borderline"
    DOES_NOT_CLEAR = "does not clear"
    NOT_SETTLED = "not settled"

    def rule(self, required: float) -> str:
        """The threshold in words, for the margin that is required."""
        return {
            Verdict.CLEARS: f"worst margin less its error bar {required:.2f} or more",
            Verdict.BORDERLINE: (
                f"worst margin less its error bar from 1.00 to below {required:.2f}"
            ),
            Verdict.DOES_NOT_CLEAR: "worst margin less its error bar below 1.00",
            Verdict.NOT_SETTLED: "error bars too wide to say: nothing clears unsettled",
        }[self]


def judge(
    margin: float, bar: float = 0.0, settled: bool = True, required: float = CLEARS
) -> Verdict:
    """Verdict for the worst margin, unrounded.

    Parameters
    ----------
    margin : float
        Least margin over the hot spots.
    bar : float
        Relative error bar of the stress there.
    settled : bool
        Whether the stress of all spots in question is known to the tolerance.
    required : float
        Margin from which a design clears.

    Returns
    -------
    Verdict
        By the margin at the upper end of the bar.  Without settled stress only a margin
        whose whole bar lies below 1 says anything.

    Examples
    --------
    >>> [str(judge(m)) for m in (1.1, 1.0999, 1.0, 0.9999)]
    ['clears', 'borderline', 'borderline', 'does not clear']
    >>> str(judge(1.13, bar=0.03)), str(judge(1.13, bar=0.02))
    ('borderline', 'clears')
    >>> str(judge(1.5, bar=0.3, settled=False)), str(judge(0.6, 0.3, settled=False))
    ('not settled', 'does not clear')
    >>> str(judge(1.15, required=1.2)), str(judge(1.05, required=1.0))
    ('borderline', 'clears')
    """
    if not settled:
        surely_low = margin < 1.0 - min(bar, 1.0)
        return Verdict.DOES_NOT_CLEAR if surely_low else Verdict.NOT_SETTLED
    least = margin / (1.0 + bar)
    if least >= required:
        return Verdict.CLEARS
    return Verdict.BORDERLINE if least >= 1.0 else Verdict.DOES_NOT_CLEAR
