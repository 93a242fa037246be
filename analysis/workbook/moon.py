"""Owns how much of the moon is lit on a day."""

from datetime import date, datetime, timedelta

import numpy as np

_NEW_MOON = datetime(2000, 1, 6, 18, 14)  # noqa: DTZ001 - universal time, as the whole formula
_MONTH_DAYS = 29.530588853


def moon_light(day: date) -> float:
    """Return the lit share of the moon's face at noon, from 0 (new) to 1 (full).

    From the moon's mean age: the new moon of 6 January 2000, 18:14 UT, and the mean synodic month
    (Meeus, *Astronomical Algorithms*, 2nd ed. 1998, ch. 49, from memory). Its true age differs by
    up to 14 hours, the share by up to 0.08.

    Examples
    --------
    >>> round(moon_light(date(2026, 5, 31)), 2), round(moon_light(date(2026, 5, 16)), 2)
    (1.0, 0.0)
    """
    noon = datetime.combine(day, datetime.min.time()) + timedelta(hours=12)
    age = ((noon - _NEW_MOON) / timedelta(days=_MONTH_DAYS)) % 1.0
    return float((1.0 - np.cos(2.0 * np.pi * age)) / 2.0)
