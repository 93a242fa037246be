"""Owns probes that disagree: two of them near each other at one time, on one trip."""

import numpy as np

from analysis.log.doubts.record import Doubts
from analysis.log.read import SeasonLog
from analysis.log.times import instants_of
from analysis.units import from_si

_AT_ONCE_US = 5 * 60_000_000
_TOGETHER_M = 1.0
_APART_C = 1.5
"""Two probes so near to each other that mostly differ by more are doubted (ours: no source; sound
ones differ by 0.4 °C, and a metre of a sharp thermocline is 1 to 2 °C)."""


def probes_apart(log: SeasonLog, doubts: Doubts) -> None:
    """Doubt the probes of a trip whose readings at one time and depth mostly lie far apart.

    No column names a probe, so that which of them is wrong cannot be told; the water is fitted to
    their mean.
    """
    if log.readings is None:
        return
    probe = log.readings.dropna(subset=["depth_temp_c", "probe_depth_m"])
    probe = probe.sort_values(["trip", "time", "line"], ignore_index=True)
    if len(probe) < 2:
        return
    temp_c, depth_m = probe["depth_temp_c"].to_numpy(), probe["probe_depth_m"].to_numpy()
    trip = probe["trip"].to_numpy()
    near = (trip[1:] == trip[:-1]) & (np.diff(instants_of(probe["time"])) <= _AT_ONCE_US)
    first = np.flatnonzero(near & (np.abs(np.diff(depth_m)) <= _TOGETHER_M))
    apart = np.abs(np.diff(temp_c))[first]
    written = from_si(temp_c, "temperature", log.boat.units.of("temperature"))
    for name in np.unique(trip[first]):
        mine = trip[first] == name
        middle_c = float(np.median(apart[mine]))
        if middle_c <= _APART_C:
            continue
        for at in np.union1d(first[mine], first[mine] + 1):
            doubts.add(
                "readings",
                int(probe["line"].iloc[at]),
                "depth_temp",
                f"{written[at]:.4g}",
                f"two probes at one time and depth read {middle_c:.1f} °C apart on that trip; "
                "their mean is taken",
                "hold both into one bucket, and leave out the one that is wrong",
            )
