"""Owns simulated seasons that the tests of the decision room share."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from analysis.decision.answer import Answer
from analysis.rates.join import BoatSeason, join
from analysis.season import Options, read_seasons, season_answer
from analysis.units import Units
from data.scenario import Scenario
from data.simulate import SimulatedSeason, simulate_season


@dataclass(frozen=True, kw_only=True)
class Known:
    """A season whose truth is known, and what was made of its log."""

    simulated: SimulatedSeason
    seasons: tuple[BoatSeason, ...]
    answer: Answer

    @property
    def units(self) -> Units:
        return self.seasons[0].log.boat.units

    def temperature_at(self, log, trips, times, depth_m):
        return self.seasons[log].temperature_at(trips, times, depth_m)


def _read(simulated: SimulatedSeason, folder: Path) -> tuple[BoatSeason, ...]:
    return tuple(read_seasons([simulated.write(folder)]))


@pytest.fixture(scope="session")
def known(tmp_path_factory) -> Callable[..., Known]:
    """Return a function that simulates, reads and answers a season; equal calls share it."""
    made: dict[object, Known] = {}

    def make(scenario: Scenario | str, seed: int, **arguments: object) -> Known:
        key = (repr(scenario), seed, repr(sorted(arguments.items())))
        if key not in made:
            simulated = simulate_season(scenario, seed, **arguments)
            seasons = _read(simulated, tmp_path_factory.mktemp("season") / "dunlin-2026")
            units = seasons[0].log.boat.units
            answer = season_answer(seasons, join(seasons), Options(), units, checked=False)
            made[key] = Known(simulated=simulated, seasons=seasons, answer=answer)
        return made[key]

    return make


@pytest.fixture(scope="session")
def warm(known) -> Known:
    """Fish follow a temperature, the captain chases: the season most tests look at."""
    return known("temperature_chasing", 2)


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(5)
