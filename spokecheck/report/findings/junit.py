"""JUnit XML for a CI job: one test case per design and test.

A test fails below the margin from which a design clears; a design that could not be
screened is one test case with an error.
The form is the common one of suites, cases, failure and error; times are left out, so
the same input gives the same bytes.
"""

from collections.abc import Mapping
from pathlib import Path
from xml.etree import ElementTree as ET

from spokecheck.errors import SpokecheckError
from spokecheck.report import caution
from spokecheck.report.findings import numbers
from spokecheck.report.findings.tool import PACKAGE
from spokecheck.report.whole_files import write_bytes
from spokecheck.screen.findings import Findings, TestFindings
from spokecheck.screen.verdict import Verdict

Outcome = Findings | SpokecheckError


def junit_xml(outcomes: Mapping[str, Outcome]) -> bytes:
    """JUnit XML of several designs.

    Parameters
    ----------
    outcomes : mapping of str to Findings or SpokecheckError
        By file, in the order of the report.

    Returns
    -------
    bytes
        UTF-8, with declaration.
    """
    root = ET.Element("testsuites", name=PACKAGE)
    for file, outcome in outcomes.items():
        if isinstance(outcome, Findings):
            _suite(root, file, outcome)
        else:
            _error_suite(root, file, outcome)
    total = {
        kind: sum(int(suite.get(kind, "0")) for suite in root)
        for kind in ("tests", "failures", "errors")
    }
    root.attrib.update({kind: str(count) for kind, count in total.items()})
    ET.indent(root)
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True)) + b"\n"


def _suite(root: ET.Element, file: str, findings: Findings) -> None:
    suite = ET.SubElement(root, "testsuite", name=_legal(findings.name))
    properties = ET.SubElement(suite, "properties")
    mass = numbers.mass(findings.wheel.mass_kg)
    for name, value in (("file", _legal(file)), ("mass", mass)):
        ET.SubElement(properties, "property", name=name, value=value)
    failures = [_case(suite, findings, test) for test in findings.tests]
    suite.attrib.update(
        tests=str(len(failures)), failures=str(sum(failures)), errors="0"
    )
    ET.SubElement(suite, "system-out").text = caution.SHORT


def _case(suite: ET.Element, findings: Findings, test: TestFindings) -> bool:
    """Add one test case; True if it fails."""
    design = _legal(findings.name)
    case = ET.SubElement(suite, "testcase", classname=design, name=test.name)
    if test.verdict is Verdict.CLEARS:
        return False
    worst = findings.spots_of(test)[0]
    message = (
        f"margin {numbers.margin(test.margin)}, less its error bar below the "
        f"{findings.verdict.clears_from_margin:.2f} that clears: "
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


def _error_suite(root: ET.Element, file: str, error: SpokecheckError) -> None:
    name = _legal(file)
    suite = ET.SubElement(root, "testsuite", name=name)
    suite.attrib.update(tests="1", failures="0", errors="1")
    case = ET.SubElement(suite, "testcase", classname=name, name="screening")
    text = _legal(str(error))
    first = text.splitlines()[0] if text else type(error).__name__
    child = ET.SubElement(case, "error", type=type(error).__name__, message=first)
    child.text = text


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


def write_junit(outcomes: Mapping[str, Outcome], path: Path) -> Path:
    """Write the JUnit XML of several designs, whole or not at all."""
    return write_bytes(path, junit_xml(outcomes))
