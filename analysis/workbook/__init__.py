"""The workbook: a season opened to be asked, in Python, in notebooks and by controls."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
