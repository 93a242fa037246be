"""Owns simulated seasons whose truth is known, fitted once for all processes of a test run."""

import os
import pickle
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import cloudpickle
import numpy as np
import pytest
from filelock import FileLock

from analysis.decision.answer import Answer
from analysis.rates.build_exposure import BoatSeason, join
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


def _fitted(folder: Path, scenario: Scenario | str, seed: int, arguments: dict) -> Known:
    """Fit a season; ``surface=False`` keeps the sounder's temperatures out of its log."""
    surface = arguments.pop("surface", True)
    simulated = simulate_season(scenario, seed, **arguments)
    if not surface:
        simulated.frames["readings"] = simulated.frames["readings"].drop(columns="surface_temp_c")
    seasons = tuple(read_seasons([simulated.write(folder / "dunlin-2026")]))
    units = seasons[0].log.boat.units
    answer = season_answer(seasons, join(seasons), Options(), units, checked=False)
    return Known(simulated=simulated, seasons=seasons, answer=answer)


@pytest.fixture(scope="session")
def known(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Known]:
    """Return a function that simulates, reads and answers a season; equal calls share it.

    A fit takes seconds, so one process of a parallel run makes it and the others read its file.
    """
    shared = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent
    made: dict[str, Known] = {}

    def make(scenario: Scenario | str, seed: int, **arguments: object) -> Known:
        asked = repr((scenario, seed, sorted(arguments.items())))
        if asked not in made:
            folder = shared / f"known-{sha256(asked.encode()).hexdigest()[:16]}"
            folder.mkdir(exist_ok=True)
            with FileLock(folder / "lock"):
                kept = folder / "known.pickle"
                if not kept.exists():
                    found = _fitted(folder, scenario, seed, dict(arguments))
                    kept.write_bytes(cloudpickle.dumps(found))
                made[asked] = pickle.loads(kept.read_bytes())
        return made[asked]

    return make


@pytest.fixture(scope="session")
def warm(known) -> Known:
    """Fish follow a temperature, the captain chases: the season most tests look at."""
    return known("temperature_chasing", 2)


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(5)
