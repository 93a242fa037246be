"""How well depth is known with few, many and mistaken trials: made-up boats, a new haul's depth.

Boats are drawn from the parts' own priors, each parameter by itself (as boats differ, not as the
model believes). Their depths come from the model, which `tests/depth` holds against an
independent integration. A trial's counter, speed and logger err as `tests/made_boats.py` says; all
trials of a boat may be made in one morning's sheared water, one of them mistaken. Judged is the
depth of 20 new hauls a boat, whose line-out and speed are known, so that only what hauls share
errs. The table stands in `depth_calibration.md`.

    .venv/bin/python tests/benchmarks/depth_calibration.py BOATS SEED [GEAR ...]
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from made_boats import Slip, metres_for_feet, study, swapped_digits, wrong_setting

Row = tuple[str, int, Slip | None, bool]
ROWS: list[Row] = [
    *(("diver", count, None, False) for count in (0, 2, 4, 8, 40)),
    *(("diver", 8, slip, False) for slip in (metres_for_feet, wrong_setting, swapped_digits)),
    ("diver", 8, None, True),
    *(
        (name, count, slip, morning)
        for name in ("rigger", "lead core", "flat line")
        for count, slip, morning in (
            (0, None, False),
            (2, None, False),
            (4, None, False),
            (8, None, False),
            (8, swapped_digits, False),
            (8, None, True),
        )
    ),
]


def main(boats: int, first_seed: int, names: list[str]) -> None:
    """Print the table, of some gears or all."""
    print("| gear | trials | water | slip | rms error | stated sd | 90 % interval covers |")
    print("|---|---|---|---|---|---|---|")
    for seed, (name, count, slip, morning) in enumerate(ROWS, start=first_seed):
        if names and name not in names:
            continue
        error, share, covered = study(name, count, boats, seed, slip, morning=morning)
        told = "none" if slip is None else slip.__name__.replace("_", " ")
        water = "one morning" if morning else "calm"
        figures = f"{error:.1%} | {share:.1%} | {covered:.0%}"
        print(f"| {name} | {count} | {water} | {told} | {figures} |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3:])
