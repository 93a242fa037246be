"""Takes the pictures of the notebooks anew: small ones for the start page, one for the front page.

Run it from an environment with rodhours and its tests installed, where Chromium is, after a
change of how a notebook looks: `python .ci/pictures.py [NOTEBOOK ...]`. Each notebook is run on the
demo in JupyterLab, as somebody uses it, and photographed: no picture shows what it does not.
"""

import io
import sys
import tempfile
from pathlib import Path

from PIL import Image, ImageChops
from playwright.sync_api import Page, expect

from analysis.places import NOTEBOOKS, PROJECT
from analysis.workbook import example

sys.path.insert(0, str(PROJECT / "tests"))
from in_jupyter import Lab, lab_in, violations

START = "start"
SMALL = NOTEBOOKS / "pictures"
WIDE = PROJECT / "reports" / "sample"
ON_THE_FRONT_PAGE = ("explore",)
SHOWN = (".widget-vbox", "figure img", ".api", "table", ".jp-OutputArea-output")
"""What a notebook is known by: its controls, else a picture, the calls, a table, or anything."""
PATIENCE_MS = 900_000
"""Some notebooks fit a season of the demo several times, and here nothing was kept before."""
FRAME_PX = (760, 475)
SMALL_PX = (288, 180)
SMALL_COLOURS, WIDE_COLOURS = 24, 48


def main(names: list[str]) -> None:
    """Photograph the notebooks that are named, by default all but the start page itself."""
    everyone = sorted(path.stem for path in NOTEBOOKS.glob("*.ipynb") if path.stem != START)
    SMALL.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, lab_in(Path(folder), PATIENCE_MS) as lab:
        own = example(Path(folder) / "heron-2026")  # rows are typed into no demo
        for name in names or everyone:
            typed = {"season": f"'{own}'"} if name == "log_entry" else {}
            photograph(lab, name, lab.copy(name, **typed))


def photograph(lab: Lab, name: str, copy: str) -> None:
    """Run the copy of a notebook and keep what it shows."""
    with lab.run(copy) as (page,):
        if complaints := [*lab.complaints(page), *violations(page)]:
            raise SystemExit("\n".join([name, *complaints]))
        expect(page.get_by_text("Working out")).to_have_count(0)  # goes on after the cells
        keep(shot_of(page), SMALL / f"{name}.png", SMALL_PX, SMALL_COLOURS)
        if name in ON_THE_FRONT_PAGE:
            shot = page.locator(".jp-Notebook").screenshot()
            whole = without_rim(Image.open(io.BytesIO(shot)).convert("RGB"))
            keep(whole, WIDE / f"{name}.png", whole.size, WIDE_COLOURS)


def shot_of(page: Page) -> Image.Image:
    """Return the upper left of what a notebook is known by, all of one shape."""
    places = [page.locator(f".jp-OutputArea {one}").first for one in SHOWN]
    found = next(place for place in places if place.count())
    for _ in range(2):  # cells are measured when they come into sight, and push others away
        found.evaluate("place => place.scrollIntoView({block: 'start'})")
        page.wait_for_timeout(1000)
    box = found.bounding_box()
    assert box is not None
    width = min(FRAME_PX[0], box["width"])
    height = width * FRAME_PX[1] / FRAME_PX[0]
    clip = {"x": box["x"], "y": box["y"], "width": width, "height": height}
    return Image.open(io.BytesIO(page.screenshot(clip=clip)))


def without_rim(shot: Image.Image) -> Image.Image:
    """Cut off what is white all along a side."""
    return shot.crop(ImageChops.difference(shot, Image.new("RGB", shot.size, "white")).getbbox())


def keep(shot: Image.Image, file: Path, size: tuple[int, int], colours: int) -> None:
    """Write a picture in few colours: there are many of them, and each weighs on every clone."""
    small = shot.convert("RGB").resize(size, Image.Resampling.LANCZOS)
    small.quantize(colours, dither=Image.Dither.NONE).save(file, optimize=True)
    print(file.relative_to(PROJECT), file.stat().st_size)


if __name__ == "__main__":
    main(sys.argv[1:])
