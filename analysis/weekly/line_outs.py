"""What puts a lure at a depth, for the gear on board of some boats, alike ones told as one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray

from analysis.depth import line_out_for
from analysis.log.wording.spelling import same_name
from analysis.rates.build_exposure import BoatSeason
from analysis.rates.line_depths import GearLines
from analysis.spread.expected import Advice, RateByDepth, advise
from analysis.spread.line_outs import longest_lines
from analysis.spread.rods import Slot, slots_of
from analysis.stats.beside import Errand, share_out
from analysis.units import LINE_STEP
from analysis.weekly.disclosure import FEWEST_BOATS, Audience
from analysis.weekly.figures import LineOut

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Aim:
    """What a week's line-outs are chosen for.

    Attributes
    ----------
    curve : RateByDepth
        Rates over the week's boat hours.
    edges_m : (bands + 1,) array
    judged : (bands,) bool array
        Bands of which the week tells a rate.
    fished_m : tuple of float
        See `analysis.spread.line_outs.fished_m`.
    band_m : tuple of float
        The depth that the week names.
    speed_mps : float
    """

    curve: RateByDepth
    edges_m: Array
    judged: NDArray[np.bool_]
    fished_m: tuple[float, float]
    band_m: tuple[float, float]
    speed_mps: float


_Member = tuple[int, str]
"""The number of a boat's season, and its name for a gear."""


@dataclass(frozen=True, kw_only=True)
class _Towed:
    """Gear of some boats that is the same to every number, and what it is called.

    ``lure`` is the one that dives which all of them fish on it; empty for one that does not.
    """

    label: str
    kind: str
    lure: str
    members: Sequence[_Member]


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

        def of(towed: _Towed) -> list[list[LineOut]]:
            dial = self._dial(towed.members)
            solved = [
                self._solve(member, towed.lure, np.array(dial)[:, None], depth_m, speed_mps)
                for member in towed.members
            ]
            return [
                [
                    _pooled(towed, setting, [x[:, place, target] for x in solved])
                    for place, setting in enumerate(dial)
                ]
                for target in range(len(depth_m))
            ]

        return self._of_all_gear(of, len(depth_m))

    def advised(self, aims: Sequence[Aim]) -> list[tuple[LineOut, ...]]:
        """Return the line-outs of every gear and setting that are expected to catch best.

        What the strikes told of a boat's gear is left out: the doubt of a depth is that of the
        physics and the soaks, so that no line-out tells how one boat did.

        Parameters
        ----------
        aims : sequence of Aim

        Returns
        -------
        list of tuple of LineOut
            One entry an aim.
        """

        def of_one(towed: _Towed, dial: Sequence[float], aim: Aim) -> list[LineOut]:
            found = [self._advice(member, towed.lure, dial, aim) for member in towed.members]
            return [
                _pooled_advice(towed, setting, [x[place] for x in found])
                for place, setting in enumerate(dial)
            ]

        def of(towed: _Towed) -> list[list[LineOut]]:
            dial = self._dial(towed.members)
            for member in towed.members:
                self._solve_ahead(member, towed.lure, dial, aims)
            return [of_one(towed, dial, aim) for aim in aims]

        return self._of_all_gear(of, len(aims))

    def _of_all_gear(
        self, of: Callable[[_Towed], list[list[LineOut]]], count: int
    ) -> list[tuple[LineOut, ...]]:
        """Put what each gear's line-outs are for some weeks under each other, week by week."""
        if not count:
            return []
        gears = [Errand(partial(of, towed)) for towed in self._towed]
        share_out(gears, worth=len(gears) > 1)
        return [tuple(row for gear in gears for row in gear.made[at]) for at in range(count)]

    @cached_property
    def _towed(self) -> list[_Towed]:
        """Gears alike, each as it is and with the lures that dive on it, in the order of labels."""
        alike = self._alike()
        labels = self._labels(alike)
        found = []
        for key, members in alike.items():
            of_lure = self._with_lures(members)
            kind, _ = key
            found += [_Towed(label=labels[key], kind=kind, lure="", members=members)]
            found += [
                _Towed(label=f"{labels[key]} with {lure}", kind=kind, lure=lure, members=some)
                for lure, some in sorted(of_lure.items())
            ]
        return sorted(found, key=lambda towed: towed.label)

    @cached_property
    def _slots(self) -> list[list[Slot]]:
        """Each season's rods."""
        return list(map(slots_of, self.seasons))

    @cached_property
    def _longest(self) -> list[dict[str, float]]:
        """The longest line of each gear of each season."""
        return list(map(longest_lines, self.seasons))

    def _with_lures(self, members: Sequence[_Member]) -> dict[str, list[_Member]]:
        """Return the lures that dive which rods of enough boats fish on one gear, and those boats.

        That a lure was fished tells of somebody's fishing, as a setting does.
        """
        fishing: dict[str, list[_Member]] = {}
        for log, name in members:
            for lure in {slot.lure for slot in self._slots[log] if slot.gear == name} - {""}:
                fishing.setdefault(lure, []).append((log, name))
        return {
            lure: some
            for lure, some in fishing.items()
            if len({same_name(self.seasons[log].log.boat.name) for log, _ in some})
            >= self.audience.least
        }

    def _alike(self) -> dict[tuple[str, str], list[_Member]]:
        """Gears that are the same in every number, each with the boats that tow it."""
        alike: dict[tuple[str, str], list[_Member]] = {}
        for log, season in enumerate(self.seasons):
            for name, gear in season.log.boat.gears.items():
                alike.setdefault((gear.kind, repr(gear)), []).append((log, name))
        return alike

    def _solve_ahead(
        self, member: _Member, lure: str, dial: Sequence[float], aims: Sequence[Aim]
    ) -> None:
        """Solve one boat's gear at the speeds of all aims, which together is quicker."""
        log, name = member
        speeds = [aim.speed_mps for aim in aims]
        self.seasons[log].towing[name].knots(
            np.repeat(dial, len(speeds)),
            np.tile(speeds, len(dial)),
            float(self._asked_m(member)[-1]),
            lure,
        )

    def _asked_m(self, member: _Member) -> Array:
        """Return the line-outs that are asked of one boat's gear."""
        log, name = member
        most = self.seasons[log].log.boat.gears[name].longest_m(self._longest[log][name])
        return LINE_STEP["m"] * np.arange(1.0, max(int(most), 1) + 1.0)

    def _advice(
        self, member: _Member, lure: str, dial: Sequence[float], aim: Aim
    ) -> list[tuple[Advice, float] | None]:
        """Advice for each setting of one boat's gear, with how far its lure may lie off."""
        log, name = member
        season = self.seasons[log]
        rng = np.random.default_rng(0)
        lines = GearLines.before_strikes(season, name, aim.curve.rate.shape[1], rng)
        ways = len(dial)
        out_m = self._asked_m(member)
        found = lines.depths_of_each(
            np.array(dial), out_m, np.full(ways, aim.speed_mps), np.zeros(ways), lure
        )
        advised: list[tuple[Advice, float] | None] = []
        for way in found:
            deepest = np.nanmax(way.depth_m, initial=0.0)
            advice = None
            if deepest >= sum(aim.band_m) / 2:
                advice = advise(
                    *(aim.curve, way, aim.edges_m, aim.judged),
                    fished_m=aim.fished_m,
                    within_m=aim.band_m,
                )
            if advice is None:
                advised.append(None)
                continue
            at = int(np.argmin(np.abs(way.line_out_m - advice.line_out_m)))
            sd = np.hypot(way.log_shift[:, at].std(), way.own_sd[at]) * advice.depth_m
            advised.append((advice, float(sd)))
        return advised

    def _dial(self, members: Sequence[_Member]) -> tuple[float, ...]:
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

    def _solve(
        self, member: _Member, lure: str, dial: Array, depth_m: Array, speed_mps: Array
    ) -> Array:
        """Line-out, its sd and the depth's sd: (3, settings, targets)."""
        log, name = member
        season = self.seasons[log]
        found = line_out_for(
            season.belief(name),
            setting=dial,
            depth_m=depth_m,
            speed_mps=speed_mps,
            tip_height_m=season.tip_height_m,
            rig=season.rig(name, lure),
        )
        return np.array([found.line_out_m, found.line_out_sd_m, found.depth_sd_m])

    def _labels(self, alike: dict[tuple[str, str], list[_Member]]) -> dict[tuple[str, str], str]:
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


def _pooled(towed: _Towed, setting: float, solved: Sequence[Array]) -> LineOut:
    """Put the boats' own line-outs for one gear and setting together."""
    reached = np.array([values for values in solved if np.isfinite(values[0])])
    out, doubt, depth_sd = reached.T if len(reached) else np.full((3, 1), np.nan)
    return LineOut(
        gear=towed.label,
        kind=towed.kind,
        setting=None if np.isnan(setting) else float(setting),
        line_out_m=float(out.mean()),
        line_out_sd_m=float(np.sqrt(np.mean(doubt**2) + out.var())),
        depth_sd_m=float(np.sqrt(np.mean(depth_sd**2))),
    )


def _pooled_advice(
    towed: _Towed, setting: float, found: Sequence[tuple[Advice, float] | None]
) -> LineOut:
    """Put the boats' own advice for one gear and setting together."""
    known = [one for one in found if one is not None]
    if not known:
        return _pooled(towed, setting, [])
    out, low, high = np.array(
        [(one.line_out_m, one.line_out_low_m, one.line_out_high_m) for one, _ in known]
    ).T
    return LineOut(
        gear=towed.label,
        kind=towed.kind,
        setting=None if np.isnan(setting) else float(setting),
        line_out_m=float(out.mean()),
        line_out_sd_m=float(out.std()),
        depth_sd_m=float(np.sqrt(np.mean([sd**2 for _, sd in known]))),
        line_out_low_m=float(low.mean()),
        line_out_high_m=float(high.mean()),
    )
