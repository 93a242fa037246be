"""Owns the checks of the models of what became of strikes: fish enough, converged, trips alike."""

from __future__ import annotations

from analysis.diagnostics.checks import Check

FEWEST = 10
"""Fish with each outcome that a model needs; below, a raw share with its interval is all."""
MOST_DISPERSION = 1.6
"""Trip-to-trip variation of outcomes above which they come in clumps."""


def enough_fish(name: str, successes: int, trials: int) -> Check:
    """Check that a model has fish enough of either outcome."""
    passed = min(successes, trials - successes) >= FEWEST
    return Check(
        name=f"{name}: enough fish",
        passed=passed,
        finding=f"{successes} of {trials}",
        next_step=""
        if passed
        else "Read the shares as counted; log the outcome of every strike to tell more.",
    )


def convergence(name: str, *, converged: bool) -> Check:
    """Check that the smoothing of a model was found."""
    return Check(
        name=f"{name}: convergence",
        passed=converged,
        finding="fitted" if converged else "did not converge",
        next_step="" if converged else "Do not use these shares; report the log.",
    )


def trips_alike(name: str, dispersion: float) -> Check:
    """Check that outcomes vary from trip to trip no more than the model says.

    Parameters
    ----------
    name : str
    dispersion : float
        Variance of the trips' scores over that of the model.
    """
    passed = dispersion <= MOST_DISPERSION
    return Check(
        name=f"{name}: trips alike",
        passed=passed,
        finding=f"outcomes vary {dispersion:.2f} times as much from trip to trip as the model says",
        next_step=""
        if passed
        else "Something that is not in the model differs between trips: hooks, drag or hands.",
    )
