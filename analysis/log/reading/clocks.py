"""Owns clocks as people type them: any of them becomes HH:MM, or stays as it is."""

import re

_SEPARATED = re.compile(
    r"(?:kl\.?|klo|at|@|um)?\s*(\d{1,2})\s*[:.h]\s*(\d{2})(?:[:.](\d{2}))?\s*(?:h|uhr|hrs?)?",
    re.ASCII | re.IGNORECASE,
)
_RUN_TOGETHER = re.compile(r"(\d{1,2})(\d{2})\s*(?:h|hrs?|uhr)?", re.ASCII | re.IGNORECASE)
_HOUR_ALONE = re.compile(r"(?:kl\.?|um)?\s*(\d{1,2})\s*(?:h|uhr)", re.ASCII | re.IGNORECASE)
_HALF = re.compile(r"(.*?\d)\s*([ap])\.?\s?m?\.?", re.IGNORECASE)
_HOUR = re.compile(r"(\d{1,2})", re.ASCII)
_SHARE_OF_DAY = re.compile(r"0[.,]\d{3,}", re.ASCII)
OURS = r"\d{1,2}:\d{2}(:\d{2})?"
"""A clock as a log of ours has it."""


def read_clock(text: str) -> tuple[str, bool]:
    """Return a clock as a log of ours has it, and whether it said morning or afternoon.

    Parameters
    ----------
    text : str

    Returns
    -------
    clock : str
        Empty where the text is no clock that can be read in one way.
    half : bool

    Examples
    --------
    >>> [read_clock(t) for t in ("5:20 PM", "05.20", "0520", "5h20", "12:05 am")]
    [('17:20', True), ('05:20', False), ('05:20', False), ('05:20', False), ('00:05', True)]
    >>> read_clock("0.2222")[0], read_clock("5.2")[0], read_clock("25:00")[0]
    ('05:20', '', '')
    """
    half = _HALF.fullmatch(text)
    if half:
        clock = _parts(half[1].strip()) or _alone(half[1].strip())
        if clock is None:
            return "", True
        hour, minute, second = clock
        if hour > 12:  # 17:20 PM says one thing twice, 17:20 AM says two
            return (_written(hour, minute, second), True) if half[2] in "pP" else ("", True)
        return _written(hour % 12 + 12 * (half[2] in "pP"), minute, second), True
    if _SHARE_OF_DAY.fullmatch(text):
        seconds = round(float(text.replace(",", ".")) * 86400)
        # a spreadsheet keeps a share of a day to many digits, a person few: to the minute
        minutes = round(seconds / 60)
        return _written(minutes // 60 % 24, minutes % 60, 0), False
    clock = _parts(text)
    if clock is None and (found := _HOUR_ALONE.fullmatch(text)):
        clock = int(found[1]), 0, 0
    return (_written(*clock), False) if clock else ("", False)


def _alone(text: str) -> tuple[int, int, int] | None:
    found = _HOUR.fullmatch(text)
    return (int(found[1]), 0, 0) if found else None


def _parts(text: str) -> tuple[int, int, int] | None:
    found = _SEPARATED.fullmatch(text) or _RUN_TOGETHER.fullmatch(text)
    if found is None:
        return None
    second = found[3] if found.re is _SEPARATED else None
    return int(found[1]), int(found[2]), int(second or 0)


def _written(hour: int, minute: int, second: int) -> str:
    if hour > 23 or minute > 59 or second > 59:
        return ""
    return f"{hour:02d}:{minute:02d}" + (f":{second:02d}" if second else "")


def without_half(text: str) -> bool:
    """Whether a clock leaves open morning or afternoon where its column tells them.

    Examples
    --------
    >>> without_half("5:20"), without_half("05:20"), without_half("17:20")
    (True, True, False)
    """
    clock, half = read_clock(text)
    return bool(clock) and not half and 1 <= int(clock[:2]) <= 12
