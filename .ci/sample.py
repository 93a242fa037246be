"""Writes reports/sample anew: the result tables of one demo season, and the front page's picture.

Run it from an environment with rodhours installed, after a change of models or demo:
`python .ci/sample.py`.
"""

import base64
import re
from pathlib import Path

from analysis import show
from analysis.places import DEMO, PROJECT
from analysis.report.results import TABLES, read_results, write_results
from analysis.season import Options, analyse

SAMPLE = PROJECT / "reports" / "sample"
PICTURE = "best-depth-by-month.svg"


def main() -> None:
    """Analyse the season, write its tables but the largest, draw the picture."""
    write_results(analyse([DEMO / "dunlin-2026"], Options()), SAMPLE)
    # No notebook reads the exposure, and a binary file of a megabyte weighs on every clone.
    (SAMPLE / TABLES / "exposure.parquet").unlink()
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
    text = re.sub(r"!\[[^\]]*\]\(reports/sample/", f"![{alt}](reports/sample/", text)
    readme.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
