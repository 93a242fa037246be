"""The weekly reports: which weeks, made from figures or from a fit, kept and told."""
