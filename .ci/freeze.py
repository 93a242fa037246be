"""Writes constraints.txt: the versions here of everything that rodhours and its tests need.

Run in an environment that has `.[test]`: `python .ci/freeze.py > .ci/constraints.txt`.
Only names, versions and environment markers come out: no addresses, no paths.
"""

import importlib.metadata
import sys
import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name


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


def main() -> None:
    """Print the constraints, one a line, in the order of their names."""
    project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text())["project"]
    versions = needed(project["dependencies"] + project["optional-dependencies"]["test"])
    lines = [f"{name}=={versions[name]}" for name in sorted(versions)]
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
