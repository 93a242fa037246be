"""Writes reports/sample anew: one season's tables, one week's figures, the front page's picture.

Run it from an environment with rodhours installed, after a change of models or demo:
`python .ci/sample.py`.
"""

import base64
import re
import tempfile
from pathlib import Path

from analysis import show
from analysis.places import DEMO, PROJECT
from analysis.report.results import TABLES, read_results, write_results
from analysis.report.weekly.run import Settings, figures_of
from analysis.report.weekly.store import as_json
from analysis.season import Options, analyse

SAMPLE = PROJECT / "reports" / "sample"
PICTURE = "best-depth-by-month.svg"
WEEK = "2026-W28"


def main() -> None:
    """Write the season's tables and picture, and the club's week."""
    season()
    week()


def week() -> None:
    """Work out one week of the demo's club, as if nothing of it had been told before."""
    with tempfile.TemporaryDirectory() as nothing:
        logs = sorted(DEMO.iterdir())
        figures = figures_of(logs, [WEEK], Path(nothing), Settings(), lambda *_: None)
    if "problem" in figures[WEEK]:
        raise SystemExit(figures[WEEK]["problem"])
    (SAMPLE / "weekly.json").write_text(as_json(figures[WEEK]), encoding="utf-8")


def season() -> None:
    """Analyse the season, write its tables but the largest, draw the picture."""
    write_results(analyse([DEMO / "dunlin-2026"], Options()), SAMPLE)
    # No notebook reads these two, and binary files of a megabyte weigh on every clone.
    for name in ("exposure.parquet", "results.xlsx"):
        (SAMPLE / TABLES / name).unlink()
    results = read_results(SAMPLE / TABLES)
    months = show.rows.months(results.bands)
    fragment = show.picture(
        show.figures.rate_by_month,
        months,
        results.units,
        height_in=4.2,
        told=show.alt_text.rate_by_month(months, results.units),
    )
    found = re.search(r"base64,([^\"]+)", fragment.html)
    if found is None:
        msg = "there was no month to draw"
        raise SystemExit(msg)
    (SAMPLE / PICTURE).write_bytes(base64.b64decode(found[1]))
    readme = Path(__file__).parents[1] / "README.md"
    text = readme.read_text(encoding="utf-8")
    alt = show.alt_text.rate_by_month(months, results.units).alt
    place = f"reports/sample/{PICTURE}"
    text = re.sub(rf"!\[[^\]]*\]\({re.escape(place)}\)", f"![{alt}]({place})", text)
    readme.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
