"""What is said of lettering that is finer than material and beam hold."""

from __future__ import annotations

import math

import pytest

from render.fitting.notes import NEARLY, Limits, fine_problems
from render.model import SetLine, Severity


def told(measure, ask, stroke, limits, *, size=5.0, thickened=0.0):
    (request,) = ask(["Anna"])
    line = SetLine(measure("Anna", request.setting), size, 0j, stroke=thickened)
    return [p for p, _ in fine_problems(request, line, stroke, math.inf, ("A", ""), False, limits)]


def test_thin_strokes_name_the_size_they_need(measure, ask):
    (problem,) = told(measure, ask, 0.2, Limits(smallest_stroke=0.3, spot=0.1))
    assert (problem.code, problem.severity) == ("stroke-too-thin", Severity.LOOK)
    assert "“A” has a stroke of 0.2 mm; the material holds no less than 0.3 mm" in problem.message
    assert "7.5 mm" in problem.hint  # 5 × 0.3 / 0.2
    (beam,) = told(measure, ask, 0.2, Limits(smallest_stroke=0.1, spot=0.25))
    assert "the beam draws no less than 0.25 mm" in beam.message
    assert told(measure, ask, 0.3, Limits(smallest_stroke=0.3)) == []


@pytest.mark.parametrize(("share", "severity"), [(NEARLY, Severity.NOTE), (NEARLY - 0.01, Severity.LOOK)])
def test_strokes_that_nearly_hold_are_only_noted(measure, ask, share, severity):
    (problem,) = told(measure, ask, 0.5 * share, Limits(smallest_stroke=0.5))
    assert problem.severity is severity


def test_thickening_that_falls_short_is_told_from_a_tenth_on(measure, ask):
    limits = Limits(smallest_stroke=0.3)
    assert told(measure, ask, 0.271, limits, thickened=0.3) == []
    (problem,) = told(measure, ask, 0.26, limits, thickened=0.3)
    assert (problem.code, problem.severity) == ("stroke-not-reached", Severity.LOOK)
