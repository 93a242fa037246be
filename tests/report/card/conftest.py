"""Owns what the card's tests share: a season whose truth is known, as a stored fit."""

from dataclasses import replace

import pytest

from analysis.report.card.stored_fit import StoredFit, key_of
from analysis.spread.basis import Basis, basis_of, days_water


@pytest.fixture(scope="session")
def basis(warm) -> Basis:
    """A boat whose fish follow a temperature."""
    return basis_of(warm.answer, warm.seasons[0], 0, days_water(list(warm.seasons)))


@pytest.fixture(scope="session")
def stored(warm, basis) -> StoredFit:
    return StoredFit(key=key_of([warm.seasons[0].log.folder]), boats=(basis,))


@pytest.fixture
def two_years(basis) -> tuple[Basis, Basis]:
    """The same boat a year later, with a season of some strikes, and the season before."""
    return replace(basis, season=basis.season + 1, strikes=12), basis
