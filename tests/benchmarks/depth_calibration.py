"""How well depth is known with few, many and mistaken trials: made-up boats, a new haul's depth.

Boats are drawn from the parts' own priors, each parameter by itself (as boats differ, not as the
model believes). Their depths come from the model, which `tests/depth` holds against an
independent integration. A trial's counter, speed and logger err as `tests/made_boats.py` says; one
of the trials may be mistaken. Judged is the depth of 20 new hauls a boat, whose line-out and speed
are known, so that only what hauls share errs. The table stands in `depth_calibration.md`.

    .venv/bin/python tests/benchmarks/depth_calibration.py [boats]
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from made_boats import Slip, metres_for_feet, study, swapped_digits, wrong_setting

ROWS: list[tuple[str, int, Slip | None]] = [
    *(("diver", count, None) for count in (0, 2, 4, 8, 40)),
    *(("diver", 8, slip) for slip in (metres_for_feet, wrong_setting, swapped_digits)),
    *(
        (name, count, None)
        for name in ("rigger", "lead core", "flat line")
        for count in (0, 2, 4, 8)
    ),
]


def main(boats: int) -> None:
    """Print the table."""
    print("| gear | trials | slip | rms error | stated sd | 90 % interval covers |")
    print("|---|---|---|---|---|---|")
    for seed, (name, count, slip) in enumerate(ROWS):
        error, share, covered = study(name, count, boats, seed, slip)
        told = "none" if slip is None else slip.__name__.replace("_", " ")
        figures = f"{error:.1%} | {share:.1%} | {covered:.0%}"
        print(f"| {name} | {count} | {told} | {figures} |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 60)
