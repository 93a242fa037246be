"""Writes constraints.txt: the versions here of everything that rodhours and its tests need.

Run in an environment that has `.[test]`: `python .ci/freeze.py`. Only names, versions and
environment markers come out: no addresses, no paths. Lines with a marker are what another Python
version needs beside the rest; they are kept as they are, to be looked after by hand.
"""

import importlib.metadata
import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

HERE = Path(__file__).parent


def needed(requirements: list[str]) -> dict[str, str]:
    """Return name -> installed version of everything reachable from `requirements`."""
    found: dict[str, str] = {}
    seen: set[tuple[str, frozenset[str]]] = set()
    waiting = [Requirement(text) for text in requirements]
    while waiting:
        wanted = waiting.pop()
        key = (canonicalize_name(wanted.name), frozenset(wanted.extras))
        if key in seen:
            continue
        seen.add(key)
        installed = importlib.metadata.distribution(wanted.name)
        found[key[0]] = installed.version
        for text in installed.requires or []:
            further = Requirement(text)
            extras = wanted.extras | {""}
            marker = further.marker
            if marker is None or any(marker.evaluate({"extra": extra}) for extra in extras):
                waiting.append(further)
    return found


def _name(line: str) -> str:
    return line.split("==")[0]


def main() -> None:
    """Write the constraints, one a line, in the order of their names."""
    project = tomllib.loads((HERE.parent / "pyproject.toml").read_text())["project"]
    versions = needed(project["dependencies"] + project["optional-dependencies"]["test"])
    file = HERE / "constraints.txt"
    kept = [line for line in file.read_text().splitlines() if ";" in line]
    lines = [f"{name}=={version}" for name, version in versions.items()]
    file.write_text("\n".join(sorted(lines + kept, key=_name)) + "\n")


if __name__ == "__main__":
    main()
