"""Statistics that know no fish: likelihoods, smooths, risk sets, cells."""
