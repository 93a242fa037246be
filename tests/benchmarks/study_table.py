"""The season study's rows as a table to read."""

from __future__ import annotations

import pandas as pd

COLUMNS = {
    "loss": "loss of the top band",
    "within_one": "top within one",
    "loss_named": "loss, best named",
    "loss_named_mean": "loss, mean named",
    "coverage": "coverage, relative",
    "coverage_published": "coverage, as printed",
    "coverage_absolute": "coverage, absolute",
    "clear": "clear",
    "wrong_clear": "wrong of clear",
    "p_near": "P(near) said",
    "near": "near in truth",
}
EFFECTS = {
    "coverage_depth_m": "depth",
    "coverage_speed_mps": "speed",
    "coverage_lure_temp_c": "temperature",
    "coverage_leader_length_m": "leader",
}
LEGEND = """
- loss of the top band: share of the best judged band's true rate given up by fishing the band of
  the highest rate; top within one: that band is the best or its neighbour; best named, mean named:
  of the band, or two neighbours, that the verdict names.
- coverage: of nominal 90 % intervals of judged bands' rates over their mean (weighted by
  rod-hours; relative: geometric mean, draw by draw; as printed: bounds over the mean printed rate).
- clear: share of verdicts that are clear; wrong of clear: every named band is more than 10 % below
  the best; P(near) said: chance, by the method, that a named band is within 10 % of the best; near
  in truth: how often one is.
- Ratios: share of the points of an effect's curve whose 90 % interval holds the true ratio.
- Only 'ours' may cap a verdict (no temperatures, few strikes); the other methods' draws are judged
  by the same rule without caps. The oracle knows the true form, water and days, not the numbers.
"""


def table(rows: pd.DataFrame) -> str:
    """Return tables of Markdown: seasons, months, ratios, and the learning curve."""
    rows = rows.assign(
        clear=rows["verdict"] == "clear",
        wrong_clear=rows["wrong"].where(rows["verdict"] == "clear").astype(float),
        near=1.0 - rows["wrong"].astype(float),
        within_one=rows["within_one"].astype(float),
    )
    usual = rows.groupby("scenario")["wanted"].transform("max")
    usual = usual.where(rows["scenario"] != "chasing_confounded", 300)
    full = rows.loc[rows["wanted"] == usual]
    parts = []
    for period, title in (("season", "Whole seasons"), ("month", "Months")):
        parts += [f"## {title}\n", _markdown(full.loc[full["period"] == period], COLUMNS)]
    told = full.loc[(full["period"] == "season") & full["coverage_leader_length_m"].notna()]
    parts += ["## Ratios: coverage of 90 % intervals\n", _markdown(told, EFFECTS)]
    few = rows.loc[(rows["scenario"] == "chasing_confounded") & (rows["period"] == "season")]
    if few["wanted"].min() < few["wanted"].max():
        few = few.assign(scenario=few["wanted"].map("{:.0f} strikes".format))
        parts += ["## Learning curve: chasing and confounded\n", _markdown(few, COLUMNS)]
    return "\n".join([*parts, LEGEND.strip()]) + "\n"


def _markdown(rows: pd.DataFrame, columns: dict[str, str]) -> str:
    lines = [["scenario", "method", "seasons", *columns.values()]]
    lines.append(["---"] * len(lines[0]))
    for (scenario, method), part in rows.groupby(["scenario", "method"], sort=False):
        means = [part[name].mean() if name in part else float("nan") for name in columns]
        cells = ["" if pd.isna(mean) else f"{100 * mean:.1f} %" for mean in means]
        lines.append([str(scenario), str(method), str(part["seed"].nunique()), *cells])
    return "\n".join("| " + " | ".join(line) + " |" for line in lines) + "\n"
