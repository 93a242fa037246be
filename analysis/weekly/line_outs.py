"""What puts a lure at a depth, for the gear on board of some boats, alike ones told as one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.depth import line_out_for
from analysis.log.wording.spelling import same_name
from analysis.rates.build_exposure import BoatSeason
from analysis.weekly.disclosure import FEWEST_BOATS, Audience
from analysis.weekly.figures import LineOut

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Tackle:
    """The gear on board of some boats in a season.

    Whether a gear was used makes no difference to what is told: line-outs come from boat.toml and
    the depth model, not from anybody's fishing. Which settings are told follows from what boats
    used, as long as enough of them did.
    """

    seasons: Sequence[BoatSeason]
    audience: Audience

    def line_outs(self, depth_m: Array, speed_mps: Array) -> list[tuple[LineOut, ...]]:
        """Return the line-out of every gear and setting for a lure at some depths and speeds.

        Parameters
        ----------
        depth_m, speed_mps : (targets,) arrays

        Returns
        -------
        list of tuple of LineOut
            One entry a target.
        """
        alike: dict[tuple[str, str], list[tuple[int, str]]] = {}
        for log, season in enumerate(self.seasons):
            for name, gear in season.log.boat.gears.items():
                alike.setdefault((gear.kind, repr(gear)), []).append((log, name))
        labels = self._labels(alike)
        dials = {key: self._dial(members) for key, members in alike.items()}
        rows: list[list[LineOut]] = [[] for _ in depth_m]
        for key, members in sorted(alike.items(), key=lambda item: labels[item[0]]):
            dial = np.array(dials[key])[:, None]
            solved = [self._solve(log, name, dial, depth_m, speed_mps) for log, name in members]
            for place, setting in enumerate(dials[key]):
                for target, row in enumerate(rows):
                    row.append(
                        _pooled(labels[key], key[0], setting, [x[:, place, target] for x in solved])
                    )
        return [tuple(row) for row in rows]

    def _dial(self, members: Sequence[tuple[int, str]]) -> tuple[float, ...]:
        """Return the settings to tell of one gear: those that boats enough to be told used.

        Where there is none they are the marks of its dial, which tell of nobody's fishing.
        """
        log, name = members[0]
        users: dict[float, set[str]] = {}
        for season in self.seasons:
            for gear in season.log.boat.gears:
                for setting in season.dial(gear):
                    users.setdefault(setting, set()).add(same_name(season.log.boat.name))
        own = {setting for log, name in members for setting in self.seasons[log].dial(name)}
        told = [setting for setting in own if len(users[setting]) >= self.audience.least]
        return tuple(sorted(told)) or self.seasons[log].log.boat.gears[name].dial or (np.nan,)

    def _solve(self, log: int, name: str, dial: Array, depth_m: Array, speed_mps: Array) -> Array:
        """Line-out, its sd and the depth's sd: (3, settings, targets)."""
        season = self.seasons[log]
        found = line_out_for(
            season.belief(name),
            setting=dial,
            depth_m=depth_m,
            speed_mps=speed_mps,
            tip_height_m=season.tip_height_m,
        )
        return np.array([found.line_out_m, found.line_out_sd_m, found.depth_sd_m])

    def _labels(
        self, alike: dict[tuple[str, str], list[tuple[int, str]]]
    ) -> dict[tuple[str, str], str]:
        """Name every gear by what may be told of it, and tell namesakes apart by letters."""
        boats_with: dict[str, set[str]] = {}
        for season in self.seasons:
            for name in season.log.boat.gears:
                boats_with.setdefault(same_name(name), set()).add(same_name(season.log.boat.name))

        def may_tell(log: int, name: str) -> bool:
            allowed = self.audience.least == 1 or self.seasons[log].log.boat.name_boat
            return allowed or len(boats_with[same_name(name)]) >= FEWEST_BOATS

        plain = {
            key: next((name for log, name in members if may_tell(log, name)), key[0])
            for key, members in alike.items()
        }
        found: dict[tuple[str, str], str] = {}
        for label in dict.fromkeys(plain.values()):
            # The one with more boats first, so that most find theirs under A.
            keys = sorted(
                (key for key in plain if plain[key] == label),
                key=lambda key: (-len(alike[key]), key),
            )
            for number, key in enumerate(keys):
                letter = f" {chr(ord('A') + number)}" if len(keys) > 1 else ""
                found[key] = f"{label}{letter}"
        return found


def _pooled(label: str, kind: str, setting: float, solved: Sequence[Array]) -> LineOut:
    """Put the boats' own line-outs for one gear and setting together."""
    reached = np.array([values for values in solved if np.isfinite(values[0])])
    out, doubt, depth_sd = reached.T if len(reached) else np.full((3, 1), np.nan)
    return LineOut(
        gear=label,
        kind=kind,
        setting=None if np.isnan(setting) else float(setting),
        line_out_m=float(out.mean()),
        line_out_sd_m=float(np.sqrt(np.mean(doubt**2) + out.var())),
        depth_sd_m=float(np.sqrt(np.mean(depth_sd**2))),
    )
