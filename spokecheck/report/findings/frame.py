"""What all pages share: templates, filters, the frame with its caution."""

import base64
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from spokecheck.report import caution
from spokecheck.report.findings import numbers
from spokecheck.report.findings.tool import PACKAGE, tool_version
from spokecheck.screen.findings import HotSpot
from spokecheck.screen.verdict import CLEARS, Verdict, judge

CLASSES = {
    Verdict.CLEARS: "clears",
    Verdict.BORDERLINE: "borderline",
    Verdict.NOT_SETTLED: "borderline",
    Verdict.DOES_NOT_CLEAR: "fails",
}


@cache
def environment() -> Environment:
    """Templates with their filters; a name that is not given is an error."""
    made = Environment(
        loader=PackageLoader("spokecheck.report.findings"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(
        places=numbers.places,
        cycles=numbers.cycles,
        judged=_judged,
        judged_alone=_judged_alone,
        length_mm=numbers.length,
        life=numbers.life,
        load=numbers.load,
        margin=numbers.margin,
        mass=numbers.mass,
        percent=numbers.percent,
        plain=numbers.plain,
        sheet=numbers.sheet,
        stress=numbers.stress,
        survival=numbers.survival,
        utilisation=numbers.utilisation,
        verdict_class=CLASSES.__getitem__,
    )
    return made


def _judged(spot: HotSpot, required: float) -> Verdict:
    """What a hot spot would mean for the wheel if it were alone."""
    return judge(spot.margin, spot.stress_error, required=required)


def _judged_alone(margin: float, required: float) -> Verdict:
    """The same for a margin without an error bar."""
    return judge(margin, required=required)


def frame(title: str, required: float = CLEARS) -> dict[str, Any]:
    """Values that the frame of every page shows; ``required`` is what clears."""
    return {
        "title": title,
        "caution": caution.FULL,
        "short_caution": caution.SHORT,
        "tool": PACKAGE,
        "version": tool_version(),
        "clears": f"{required:.2f}",
    }


def jpeg_uri(jpeg: bytes) -> str:
    """JPEG as a data URI, so that the page needs no other file."""
    return "data:image/jpeg;base64," + base64.b64encode(jpeg).decode("ascii")
