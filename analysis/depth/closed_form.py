"""Owns the fast form for a weightless line of one part under any constant end force.

In the plane of the pull let u = cot(theta), theta the angle of the line to the stream. Along a
weightless line with normal load a = q d Cn and tangential load b = q pi d Ct per metre

    T(u) = T0 exp( (b/a) [ (u + acot u) - (c0 + acot c0) ] ),   ds = T du / a,

because T dtheta = -a sin^2 ds and dT = b cos^2 ds. With u = sinh v

    s = 1/a int T cosh v dv,   y = 1/a int T dv,   x = 1/a int T sinh v dv.

For b = 0 these are the closed form: k y = asinh(u) - asinh(c0) and so on, k = a / T0. For b > 0
a Gauss-Legendre rule takes the integrals, and a line that it cannot close is marched; the tests
hold both against integration.
"""

from __future__ import annotations

import numpy as np

from analysis.depth.march import Array, Tow
from analysis.depth.towline import Towed, tow_lines

# Enough for 1e-8; the longer rule for lines that bow very much (rope on a tiny lure).
_SHORT_RULE, _LONG_RULE = np.polynomial.legendre.leggauss(10), np.polynomial.legendre.leggauss(40)
_LONG_SPAN = 2.5
STEPS = 60
CLOSED_TO = 2e-5
"""Share by which the last step toward the rod tip may change the cot at the surface: its square is
left as error. A line that would still take a longer one is integrated."""


def serves(tow: Tow) -> bool:
    """Tell whether this form holds: one weightless part, the lure at its deep end."""
    one = tow.top_m.shape[0] == 1
    return one and not np.any(tow.weight_n_per_m) and not np.any(tow.from_m)


def _integrals(c0: Array, cot: Array, ratio: Array) -> tuple[Array, Array, Array, Array]:
    """Return k s, k y, k x and T / T0 from the deep end to where the line has this cot."""
    low, high = np.arcsinh(c0), np.arcsinh(cot)
    half = 0.5 * (high - low)
    total = [np.zeros_like(half) for _ in range(3)]
    start = c0 + np.arctan2(1.0, c0)
    rule = _LONG_RULE if np.nanmax(half, initial=0.0) > _LONG_SPAN / 2.0 else _SHORT_RULE
    for point, weight in zip(*rule, strict=True):
        grow = np.exp(low + half * (1.0 + point))
        u = 0.5 * (grow - 1.0 / grow)
        tension = weight * np.exp(ratio * (u + np.arctan2(1.0, u) - start))
        total[0] += tension * (grow - u)
        total[1] += tension
        total[2] += tension * u
    end = np.exp(ratio * (cot + np.arctan2(1.0, cot) - start))
    return half * total[0], half * total[1], half * total[2], end


def _steepest_cot(c0: Array, arc: Array, ratio: Array) -> Array:
    """Return a cot that a line of this length (times k) cannot pass, however short in the air.

    As u + acot u > u, k s > int exp(ratio (v - c0 - acot c0)) dv, which has a closed form.
    """
    return np.asarray(c0 + np.arctan2(1.0, c0) + np.log1p(ratio * arc) / ratio)


def _wetted(c0: Array, k: Array, line_out: Array, reach: Array) -> Array:
    """Return Lw of (L - Lw)^2 = reach^2 [1 + (c0 + k Lw)^2], NaN for a line too short."""
    a = 1.0 - (reach * k) ** 2
    b = line_out + reach**2 * k * c0
    c = line_out**2 - reach**2 * (1.0 + c0**2)
    # The smaller root, L > Lw, written so that a = 0 needs no case of its own.
    with np.errstate(invalid="ignore"):
        length: Array = c / (b + np.sqrt(b * b - a * c))
    return np.where(length >= 0.0, length, np.nan)


def tow_weightless(tow: Tow) -> Towed:
    """Return where weightless lines of one part run.

    Parameters
    ----------
    tow
        The lines; `serves(tow)` must hold.

    Returns
    -------
    Towed
        NaN where the line is too short to reach the water or nothing pulls it down.
    """
    astern, side, down = tow.end_n
    across = np.hypot(side, down)
    with np.errstate(divide="ignore", invalid="ignore"):
        cos_roll = np.where(down > 0.0, down / across, np.nan)
        sin_roll, c0 = side / across, astern / across
    tension = np.hypot(astern, across)
    k = tow.normal_n_per_m[0] / tension
    reach = tow.height_m / cos_roll
    wetted = _wetted(c0, k, tow.line_out_m, reach)
    cot = c0 + k * wetted
    if np.any(tow.tangential_n_per_m):
        ratio = tow.tangential_n_per_m[0] / tow.normal_n_per_m[0]
        cot = np.minimum(cot, _steepest_cot(c0, k * tow.line_out_m, ratio))
        for _ in range(STEPS):
            arc, y, x, grown = _integrals(c0, cot, ratio)
            steep = np.sqrt(1.0 + cot**2)
            excess = tow.line_out_m - arc / k - reach * steep
            slope = grown / k + reach * cot / steep
            growing = grown * ratio * (cot / steep) ** 2
            bend = growing / k + reach / steep**3
            # Halley's step: the error is then that of the third order in it.
            move = excess / slope
            move /= np.maximum(1.0 + 0.5 * move * bend / slope, 0.5)
            before, cot = cot, np.maximum(cot + move, c0)
            missed = np.abs(move) > CLOSED_TO * (1.0 + cot)
            if not np.any(missed):
                break
        # The integrals at the end of such a step are those at its beginning, and what it adds.
        step = cot - before
        wetted = (arc + grown * step) / k
        y, x = y + grown * step / steep, x + grown * step * before / steep
        grown = grown + growing * step
        lost = np.flatnonzero(missed)
    else:
        y = np.arcsinh(cot) - np.arcsinh(c0)
        x = np.sqrt(1.0 + cot**2) - np.sqrt(1.0 + c0**2)
        grown = np.ones_like(k)
        lost = np.empty(0, dtype=np.intp)
    left = tow.line_out_m - wetted
    fall = 1.0 / np.sqrt(1.0 + cot**2)
    pull = np.where(np.isnan(wetted), np.nan, tension * grown)
    end = np.stack([x / k + left * fall * cot, (y / k + left * fall) * sin_roll, y / k * cos_roll])
    out = Towed(
        depth_m=end[2] + tow.trail_m[2],
        lateral_m=end[1] + tow.trail_m[1],
        setback_m=end[0] + tow.trail_m[0],
        pull_n=pull,
        wetted_m=wetted,
        top_n=pull * fall * np.stack([cot, sin_roll, cos_roll]),
        carry_m=np.zeros((3, k.size)),
        end_m=end,
    )
    if lost.size:
        integrated = tow_lines(tow.take(lost))
        for name, values in vars(out).items():
            values[..., lost] = getattr(integrated, name)
    return out
