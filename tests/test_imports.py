"""Owns the test of the import direction: the contracts that pyproject.toml holds."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_import_contracts_are_kept(tmp_path: Path) -> None:
    done = subprocess.run(
        [Path(sys.executable).with_name("lint-imports"), "--cache-dir", tmp_path],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


def test_help_waits_for_no_heavy_import() -> None:
    code = (
        "import sys, analysis.cli\n"
        "heavy = {'pandas', 'numpy', 'matplotlib', 'papermill', 'scipy'} & set(sys.modules)\n"
        "sys.exit(str(heavy) if heavy else 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_notebooks_are_run_without_a_grammar_that_none_of_them_needs() -> None:
    code = (
        "import sys, analysis.report.whole_review\n"
        "sys.exit('rfc3987_syntax' in sys.modules or 'jsonschema' not in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode == 0
