"""Owns made recordings of a boat's instruments: loggers on lines, and tracks."""

import base64
import re
import zipfile
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from functools import reduce
from operator import xor
from pathlib import Path

import numpy as np
import pandas as pd
import pypdfium2

STEP_S = 30
SINKING_MIN = 2.0
"""From the surface to its depth."""


def trace(
    begin: float, end: float, sets: Sequence[tuple[float, float, float]], step_s: float = STEP_S
) -> tuple[np.ndarray, np.ndarray]:
    """Return minutes and depths of a logger that goes down with sets (from, to, depth_m)."""
    minute = np.arange(begin, end, step_s / 60.0)
    depth = np.zeros(len(minute))
    for low, high, deep in sets:
        down = np.clip((minute - low) / SINKING_MIN, 0, 1) * np.clip(high - minute, 0, 1)
        depth = np.maximum(depth, deep * down)
    return minute, depth


def logger_csv(
    start: datetime,
    minute: np.ndarray,
    depth: np.ndarray,
    temp: np.ndarray | None = None,
    *,
    slow_min: float = 0.0,
    form: str = "%Y-%m-%d %H:%M:%S",
) -> str:
    """Return a logger's file, its clock so many minutes slow; numbers as given."""
    lines = ["time,depth" + ("" if temp is None else ",temp")]
    for i, (m, d) in enumerate(zip(minute, depth, strict=True)):
        when = start + timedelta(minutes=float(m - slow_min))
        lines.append(f"{when:{form}},{d:.2f}" + ("" if temp is None else f",{temp[i]:.2f}"))
    return "\n".join(lines) + "\n"


def nmea(body: str) -> str:
    """Return a sentence with its checksum: the exclusive or of what stands between $ and *."""
    return f"${body}*{reduce(xor, body.encode()):02X}"


def rmc(utc: datetime, knots: float, north: float = 61.23456, east: float = 9.87654) -> str:
    """Return the recommended minimum of a receiver."""

    def degrees(value: float, width: int) -> str:
        whole = int(value)
        return f"{whole:0{width}d}{(value - whole) * 60:07.4f}"

    place = f"{degrees(north, 2)},N,{degrees(east, 3)},E"
    return nmea(f"GPRMC,{utc:%H%M%S}.00,A,{place},{knots:.2f},084.4,{utc:%d%m%y},,,A")


def gpx(points: Sequence[tuple[datetime, float, float, str]]) -> str:
    """Return a track of points: UTC, degrees north and east, and what stands in extensions."""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<gpx version="1.1" creator="made" xmlns="http://www.topografix.com/GPX/1/1"',
        ' xmlns:x="urn:made:instruments">',
        "<trk><trkseg>",
    ]
    for utc, north, east, more in points:
        inside = f"<extensions>{more}</extensions>" if more else ""
        lines.append(
            f'<trkpt lat="{north:.6f}" lon="{east:.6f}">'
            f"<time>{utc:%Y-%m-%dT%H:%M:%SZ}</time>{inside}</trkpt>"
        )
    return "\n".join([*lines, "</trkseg></trk></gpx>", ""])


NORTH, EAST = 61.23456, 9.87654
"""Where made tracks are: no output may hold it, in any writing."""
_WRITINGS = re.compile(
    rb"(?<![\d.,])0?(?:61[.,]234[5-9]|9[.,]876[5-9])"  # decimal degrees
    rb"|6114[.,]0[7-9]|(?<!\d)0*952[.,][56]\d"  # degrees and minutes, as instruments have it
    rb"|61\s?(?:\xc2\xb0|d|&deg;|deg)?\s?14\s?(?:'|m|\xe2\x80\xb2)|(?<!\d)9\xc2\xb0\s?52"
    rb"|(?<!\d)6123[45]\d{3}|(?<![\d.])98765\d{2}(?!\d)"  # millionths of a degree
    rb"|1[.,]06874|0[.,]17237"  # radians
)


def with_tracks(folder: Path, starts: Sequence[datetime]) -> Path:
    """Put into a season folder a recording and a track of each start, some of it broken."""
    tracks = folder / "tracks"
    tracks.mkdir()
    for number, start in enumerate(starts):
        lines = [rmc(start + timedelta(minutes=m), 2.2, NORTH, EAST) for m in range(60)]
        lines[7] = lines[7][:-2] + "00"
        lines[9] = lines[9].replace(",E,", ",")
        lines[11] = nmea("GPRMC,999999,A,6114.0736,N,00952.5924,E,2.0,,040726,,,A")
        lines += [nmea("VWVHW,,T,,M,2.10,N,3.89,K"), nmea("YXMTW,14.2,C")]
        (tracks / f"t{number}.nmea").write_text("\n".join(lines))
        points = [
            (start + timedelta(seconds=20 * i), NORTH + i * 2e-5, EAST + i * 2e-5, "")
            for i in range(20)
        ]
        (tracks / f"t{number}.gpx").write_text(gpx(points).replace("<time>2026", "<time>26", 1))
        (tracks / f"bad{number}.gpx").write_text(gpx(points)[:-40])
        (tracks / f"bad{number}.log").write_text("\n".join(line[:-1] + "G" for line in lines))
    return folder


def positions_in(folder: Path) -> list[str]:
    """Return every place of a folder's files, hidden ones too, where a made track's position is."""
    degrees = [place + i * 2e-5 for i in range(20) for place in (NORTH, EAST)]
    binary = [
        np.array([value]).astype(kind).tobytes()
        for value in (*degrees, *np.radians(degrees))
        for kind in ("<f8", ">f8", "<f4", ">f4")
    ]
    binary += [
        np.array([round(value * scale)], dtype=kind).tobytes()
        for value in degrees
        for scale in (1e6, 1e7)
        for kind in ("<i4", ">i4")
    ]
    found = []
    for file in sorted(path for path in folder.rglob("*") if path.is_file()):
        for name, content in _parts(file):
            found += [f"{file.name} {name}: {hit[0]!r}" for hit in _WRITINGS.finditer(content)]
            found += [f"{file.name} {name}: {value!r}" for value in binary if value in content]
    return found


def _parts(file: Path) -> Iterator[tuple[str, bytes]]:
    """Yield what a file holds, and what is packed in it."""
    content = file.read_bytes()
    yield "", content
    if zipfile.is_zipfile(file):
        with zipfile.ZipFile(file) as packed:
            yield from ((name, packed.read(name)) for name in packed.namelist())
    if file.suffix == ".parquet":
        frame = pd.read_parquet(file)
        yield "as text", frame.to_csv().encode()
        numbers = frame.select_dtypes("number").to_numpy(dtype=float)
        yield "as numbers", numbers.tobytes()
    if file.suffix == ".pdf":
        with pypdfium2.PdfDocument(content) as pdf:
            text = "".join(page.get_textpage().get_text_range() for page in pdf)
        yield "text", text.encode()
    for found in re.finditer(rb"base64,([A-Za-z0-9+/=]{40,})", content):
        yield "base64", base64.b64decode(found[1] + b"===")
