"""Timed jobs against computed times: what they teach, and how far that may be trusted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from render.errors import MonikerfError
from render.model import Timing


@dataclass(frozen=True, slots=True)
class TimedJob:
    """One load that was timed: seconds by computation and by the clock."""

    name: str
    computed: float
    actual: float


def fitted_timing(jobs: Sequence[TimedJob]) -> Timing:
    """Least squares of actual = start + factor × computed, every job weighing alike by its relative error.

    One or two jobs give the factor alone; from three on also the start, which is never negative. The error is
    the worst that comes of leaving each job out in turn and predicting it from the others (leave-one-out
    cross-validation: M. Stone, "Cross-validatory choice and assessment of statistical predictions", 1974).

    Raises:
        MonikerfError: there are no jobs, or a time is not positive.
    """
    if not jobs:
        raise MonikerfError("There is no timed job.", hint="time one or, better, three different loads")
    for job in jobs:
        if not (job.computed > 0 and job.actual > 0):
            raise MonikerfError(f"{job.name}: both times must be longer than nothing.", hint="time it again")
    start, factor = _fit(jobs)
    misses = []
    for left_out in range(len(jobs) if len(jobs) > 1 else 0):
        others = [job for k, job in enumerate(jobs) if k != left_out]
        s, f = _fit(others)
        job = jobs[left_out]
        misses.append(abs(s + f * job.computed - job.actual) / job.actual)
    return Timing(factor, start, max(misses) if misses else None, len(jobs))


def _fit(jobs: Sequence[TimedJob]) -> tuple[float, float]:
    """Start and factor: the normal equations of least squares with weights 1 / actual²."""
    weights = [1 / job.actual**2 for job in jobs]
    sw = sum(weights)
    mean_c = sum(w * job.computed for w, job in zip(weights, jobs, strict=True)) / sw
    mean_a = sum(w * job.actual for w, job in zip(weights, jobs, strict=True)) / sw
    spread = sum(w * (job.computed - mean_c) ** 2 for w, job in zip(weights, jobs, strict=True))
    if len(jobs) > 2 and spread > 1e-6 * sw * mean_c**2:
        both = sum(
            w * (job.computed - mean_c) * (job.actual - mean_a) for w, job in zip(weights, jobs, strict=True)
        )
        factor = both / spread
        start = mean_a - factor * mean_c
        if start >= 0 and factor > 0:
            return start, factor
    squares = sum(w * job.computed**2 for w, job in zip(weights, jobs, strict=True))
    return 0.0, sum(w * job.computed * job.actual for w, job in zip(weights, jobs, strict=True)) / squares
