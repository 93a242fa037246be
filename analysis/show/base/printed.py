"""Owns pages to print: figures as a PDF in the house style."""

from collections.abc import Iterable
from pathlib import Path

import matplotlib as mpl
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure

from analysis.show.base.style import SETTINGS


def write_pages(figures: Iterable[Figure], path: Path) -> None:
    """Write figures as the pages of a PDF.

    They are drawn in the house style, too: matplotlib makes ticks when it draws.
    """
    with mpl.rc_context(dict(SETTINGS)), PdfPages(path, metadata={"CreationDate": None}) as pdf:
        for fig in figures:
            pdf.savefig(fig)
