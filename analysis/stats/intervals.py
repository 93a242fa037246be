"""90 % intervals of counted rates and shares, by statsmodels, at the one level that is told."""

from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.rates import confint_poisson

ALPHA = 0.10


def rate_interval(count: int, effort: float) -> tuple[float, float]:
    """Exact interval of a Poisson rate.

    Garwood 1936, *Biometrika* 28(3/4), 437-442 (from memory).

    Examples
    --------
    >>> low, high = rate_interval(4, 100.0)
    >>> round(low, 4), round(high, 4)
    (0.0137, 0.0915)
    """
    low, high = confint_poisson(count, effort, method="exact-c", alpha=ALPHA)
    return float(low), float(high)


def share_interval(successes: int, trials: int) -> tuple[float, float]:
    """Interval of a share by Jeffreys' prior, open at the end where nothing was seen.

    Brown, Cai & DasGupta 2001, *Statistical Science* 16(2), 101-133 (from memory): its ends are 0
    and 1 where no trial, or every one, succeeded.

    Examples
    --------
    >>> low, high = share_interval(7, 10)
    >>> round(low, 3), round(high, 3)
    (0.442, 0.883)
    """
    low, high = proportion_confint(successes, trials, alpha=ALPHA, method="jeffreys")
    return 0.0 if successes == 0 else float(low), 1.0 if successes == trials else float(high)
