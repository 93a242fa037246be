"""The answer by the two models most used for such counts: Poisson and negative binomial GLMs."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.rates.exposure import Exposure
from analysis.stats.cells import band_of

Array = NDArray[np.float64]
USUAL = ("poisson glm", "negative binomial glm")
DRAWS = 2000
_COLUMNS = ("strata", "band_low_m", "band_high_m", "ratio", "low", "high", "p_best", "status")


def usual_counts(
    exposure: Exposure, edges_m: Array, judged: NDArray[np.bool_], rng: np.random.Generator
) -> pd.DataFrame:
    """Fit strikes by trip and band with bands and months as factors and rod-hours as effort.

    By statsmodels: ``Poisson`` with trips as clusters of its covariance, and ``NegativeBinomial``
    (NB2, its dispersion estimated). Depths are taken as modelled, and that rods follow fish is
    not in them: they are here to be compared.

    Parameters
    ----------
    exposure : Exposure
    edges_m : (bands + 1,) array
    judged : (bands,) bool array
        Bands told; the others' cells are left out.
    rng : numpy.random.Generator

    Returns
    -------
    DataFrame
        As `analysis.diagnostics.sensitivity.compare_strata`, ``strata`` one of `USUAL`.
    """
    from statsmodels.discrete.discrete_model import (  # here: a second, and seldom needed
        NegativeBinomial,
        Poisson,
    )

    bands = np.flatnonzero(judged)
    if len(bands) < 2:
        return pd.DataFrame(columns=list(_COLUMNS))
    cells = _cells(exposure, edges_m, bands)
    of_band = pd.get_dummies(cells["band"].astype(pd.CategoricalDtype(list(bands))), dtype=float)
    of_month = pd.get_dummies(cells["period"].astype(str), drop_first=True, dtype=float)
    design = np.column_stack([of_band, of_month])
    strikes, hours = (cells[name].to_numpy(dtype=float) for name in ("strikes", "hours"))
    ways: tuple[tuple[Any, dict[str, Any]], ...] = (
        (Poisson, {"cov_type": "cluster", "cov_kwds": {"groups": cells["trip"].to_numpy()}}),
        (NegativeBinomial, {}),
    )
    frames = []
    for name, (kind, wishes) in zip(USUAL, ways, strict=True):
        model = kind(strikes, design, exposure=hours)
        found = model.fit(disp=False, maxiter=200, warn_convergence=False, **wishes)
        frames.append(_bands(name, found, edges_m, bands, rng))
    return pd.concat(frames, ignore_index=True)


def _cells(exposure: Exposure, edges_m: Array, bands: NDArray[np.intp]) -> pd.DataFrame:
    """Strikes and rod-hours by trip, month and band."""
    table = exposure.table.assign(trip=exposure.trip, band=band_of(exposure.depth_m, edges_m))
    kept = table[table["band"].isin(bands) & (table["hours"] > 0)]
    return (
        kept.astype({"period": str})
        .groupby(["trip", "period", "band"], as_index=False)[["hours", "strikes"]]
        .sum()
    )


def _bands(
    name: str, found: Any, edges_m: Array, bands: NDArray[np.intp], rng: np.random.Generator
) -> pd.DataFrame:
    """Rates of bands over their geometric mean, by normal draws of the coefficients."""
    count = len(bands)
    covariance = np.asarray(found.cov_params())[:count, :count]
    good = bool(found.mle_retvals["converged"]) and bool(np.isfinite(covariance).all())
    relative = np.full((DRAWS, count), np.nan)
    if good:
        draws = rng.multivariate_normal(np.asarray(found.params)[:count], covariance, DRAWS)
        relative = np.exp(draws - draws.mean(axis=1, keepdims=True))
    low, middle, high = np.quantile(relative, (0.05, 0.5, 0.95), axis=0)
    best = np.bincount(relative.argmax(axis=1), minlength=count) / DRAWS
    return pd.DataFrame(
        {
            "strata": name,
            "band_low_m": edges_m[bands],
            "band_high_m": edges_m[bands + 1],
            "ratio": middle,
            "low": low,
            "high": high,
            "p_best": best,
            "status": "fitted" if good else "did not converge",
        }
    )
