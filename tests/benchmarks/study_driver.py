"""Owns the command line of studies that score made seasons of several kinds, seed by seed."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Collection, Iterable
from pathlib import Path

import pandas as pd

Row = dict[str, object]


def drive(
    about: str,
    kinds: Collection[str],
    scored: Callable[[str, int], Iterable[Row]],
    table: Callable[[pd.DataFrame], str],
    *,
    seeds: str,
) -> None:
    """Run the seasons asked for and write their rows after each, or print the tables of the file.

    Parameters
    ----------
    about : str
        What the study is, and how it is called.
    kinds : collection of str
        Names of the kinds of seasons.
    scored : function
        Rows of a season, by its kind and seed.
    table : function
        The study's tables of Markdown, from all rows.
    seeds : str
        The usual ones, first:past the last.
    """
    parser = argparse.ArgumentParser(
        description=about, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seeds", default=seeds, help="first:past the last")
    parser.add_argument(
        "--rows", default=";".join(kinds), help="kinds of seasons, by names, a ; between"
    )
    parser.add_argument("--file", type=Path, default=Path(f"{Path(sys.argv[0]).stem}.csv"))
    parser.add_argument("--table", action="store_true", help="print the tables of the file")
    wanted = parser.parse_args()
    if wanted.table:
        sys.stdout.write(table(pd.read_csv(wanted.file)))
        return
    names = [name.strip() for name in wanted.rows.split(";")]
    if unknown := set(names) - set(kinds):
        parser.error(f"--rows has no {'; '.join(sorted(unknown))}: it has {'; '.join(kinds)}")
    rows: list[Row] = []
    for seed in range(*map(int, wanted.seeds.split(":"))):
        for name in names:
            rows += scored(name, seed)
            pd.DataFrame(rows).to_csv(wanted.file, index=False)
            sys.stderr.write(f"{name} {seed}\n")
