"""What the review's notebook imports while its season is fitted."""

import subprocess
import sys

from analysis.report.whole_review import IMPORTS


def test_the_notebook_imports_pictures_and_no_analysis():
    told = subprocess.run(
        [sys.executable, "-c", f"{IMPORTS}; import sys; print(*sys.modules)"],
        check=True,
        capture_output=True,
        text=True,
    ).stdout.split()
    assert "matplotlib.figure" in told
    assert "analysis.workbook.season_results" in told
    for heavy in ("scipy", "analysis.season", "analysis.log.read", "analysis.depth.march"):
        assert heavy not in told
