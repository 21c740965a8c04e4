"""What is said of lettering that is finer than material and beam hold."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from render.fitting.forms import Form
from render.fitting.notes import NEARLY, Limits, fine_problems, held_problem
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
    assert (problem.code, problem.severity) == ("stroke-not-reached", Severity.NOTE)
    (problem,) = told(measure, ask, 0.23, limits, thickened=0.3)
    assert (problem.code, problem.severity) == ("stroke-not-reached", Severity.LOOK)


def test_what_does_not_fit_down_a_column_is_told_by_its_length(measure, ask):
    (request,) = ask(["Anna"])
    column = replace(request, setting=replace(request.setting, vertical="mixed"))
    line = measure("Anna", request.setting)
    told_across, told_down = (held_problem(each, Form((line,)), 10.0).message for each in (request, column))
    assert f"on one line it is {line.ink.width * 10:.1f} mm wide".replace(".0 ", " ") in told_across
    assert f"in one column it is {line.ink.height * 10:.1f} mm long".replace(".0 ", " ") in told_down
