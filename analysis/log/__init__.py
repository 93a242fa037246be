"""Read a season folder and vet it: clean tables in SI, and what was set aside."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
