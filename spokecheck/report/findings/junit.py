"""JUnit XML for a CI job: a suite for each file, a test case for each of its tests.

A test fails unless it clears; a margin that fell since an
earlier run is a failure of its own.
A design that could not be screened, or not yet, is one test case with an error: what a
job leaves that is ended early is not green.
Suites are named by path, so files named alike stay apart.
The form is the common one of suites, cases, failure and error; times are left out, so
the same input gives the same bytes.
"""

from collections.abc import Sequence
from pathlib import Path
from xml.etree import ElementTree as ET

from spokecheck.report import caution
from spokecheck.report.findings import numbers
from spokecheck.report.findings.design_result import UNFINISHED, DesignResult
from spokecheck.report.findings.tool import PACKAGE
from spokecheck.report.whole_files import write_bytes
from spokecheck.screen.findings import Findings, TestFindings
from spokecheck.screen.verdict import Verdict


def junit_xml(results: Sequence[DesignResult]) -> bytes:
    """JUnit XML of several designs.

    Parameters
    ----------
    results : sequence of DesignResult
        Reported in the order of their paths.

    Returns
    -------
    bytes
        UTF-8, with declaration.
    """
    root = ET.Element("testsuites", name=PACKAGE)
    for result in sorted(results, key=lambda one: one.path):
        if isinstance(result.outcome, Findings):
            _suite(root, result, result.outcome)
        else:
            _error_suite(root, result)
    total = {
        kind: sum(int(suite.get(kind, "0")) for suite in root)
        for kind in ("tests", "failures", "errors")
    }
    root.attrib.update({kind: str(count) for kind, count in total.items()})
    ET.indent(root)
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True)) + b"\n"


def _suite(root: ET.Element, result: DesignResult, findings: Findings) -> None:
    suite = ET.SubElement(root, "testsuite", name=_legal(result.path))
    properties = ET.SubElement(suite, "properties")
    mass = numbers.mass(findings.wheel.mass_kg)
    for name, value in (("design", _legal(findings.name)), ("mass", mass)):
        ET.SubElement(properties, "property", name=name, value=value)
    failures = [_case(suite, result, findings, test) for test in findings.tests]
    if result.earlier is not None:
        failures.append(_fall_case(suite, result))
    suite.attrib.update(
        tests=str(len(failures)), failures=str(sum(failures)), errors="0"
    )
    ET.SubElement(suite, "system-out").text = caution.SHORT


def _case(
    suite: ET.Element, result: DesignResult, findings: Findings, test: TestFindings
) -> bool:
    """Add one test case; True if it fails."""
    path = _legal(result.path)
    case = ET.SubElement(suite, "testcase", classname=path, name=test.name)
    if test.verdict is Verdict.CLEARS:
        return False
    worst = findings.spots_of(test)[0]
    least = min(spot.least_margin for spot in findings.spots_of(test))
    message = (
        f"{test.verdict}: margin {numbers.margin(test.margin)}, "
        f"{numbers.margin(least)} less its error bar, clears from "
        f"{findings.verdict.clears_from_margin:.2f}: "
        f"{worst.place} ({numbers.places(worst)})"
    )
    failure = ET.SubElement(case, "failure", type=str(test.verdict), message=message)
    failure.text = (
        f"load {numbers.load(test)}, {numbers.cycles(test.cycles)} cycles; "
        f"equivalent amplitude {numbers.stress(worst.equivalent_mpa)} MPa, "
        f"allowable {numbers.stress(worst.allowable_mpa)} MPa, "
        f"stress error {numbers.percent(worst.stress_error)}"
    )
    return True


def _fall_case(suite: ET.Element, result: DesignResult) -> bool:
    """Add the comparison with an earlier run; True if a margin fell too far."""
    name = "margins since the earlier run"
    case = ET.SubElement(suite, "testcase", classname=_legal(result.path), name=name)
    if not result.falls:
        return False
    lines = [_legal(fall.words) for fall in result.falls]
    failure = ET.SubElement(case, "failure", type="margin fell", message=lines[0])
    failure.text = "\n".join(lines)
    return True


def _error_suite(root: ET.Element, result: DesignResult) -> None:
    name = _legal(result.path)
    suite = ET.SubElement(root, "testsuite", name=name)
    suite.attrib.update(tests="1", failures="0", errors="1")
    case = ET.SubElement(suite, "testcase", classname=name, name="screening")
    lines = [_legal(line) for line in result.error_lines]
    kind = UNFINISHED if result.outcome is None else type(result.outcome).__name__
    first = next((line for text in lines for line in text.splitlines()), kind)
    more = f" (and {len(lines) - 1} more)" if len(lines) > 1 else ""
    child = ET.SubElement(case, "error", type=kind, message=first + more)
    child.text = "\n".join(lines)


def _legal(text: str) -> str:
    """Text without the characters XML 1.0 cannot hold (W3C XML 1.0, production 2)."""
    return "".join(
        c if _is_legal(ord(c)) else "\N{REPLACEMENT CHARACTER}" for c in text
    )


def _is_legal(code: int) -> bool:
    return (
        code in (0x9, 0xA, 0xD)
        or 0x20 <= code <= 0xD7FF
        or 0xE000 <= code <= 0xFFFD
        or 0x10000 <= code <= 0x10FFFF
    )


def write_junit(results: Sequence[DesignResult], path: Path) -> Path:
    """Write the JUnit XML of several designs, whole or not at all."""
    return write_bytes(path, junit_xml(results))
