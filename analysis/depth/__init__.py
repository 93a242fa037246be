"""How deep a towed line runs: arrays in, arrays out."""
