"""Runs the program under check and finds its files."""

import json
import os
import subprocess
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "sample-data"
CATALOGUE = SAMPLE / "catalogue"


@dataclass
class Run:
    """What a run of the program left."""

    code: int
    out: str
    err: str

    @property
    def text(self) -> str:
        """All that it printed."""
        return self.out + self.err


def binary() -> Path:
    """The program to check: GROUNDFIT_BIN, else the debug or the release build."""
    named = os.environ.get("GROUNDFIT_BIN")
    target = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    tried = [Path(named)] if named else [target / "debug" / "groundfit", target / "release" / "groundfit"]
    for path in tried:
        if path.is_file():
            return path.resolve()
    raise FileNotFoundError(
        f"no program to check at {', '.join(map(str, tried))}: build it or set GROUNDFIT_BIN"
    )


def groundfit(*arguments, expect: int | None = 0, timeout_s: float = 900) -> Run:
    """Runs the program; anything but the expected exit code is an error, unless None."""
    command = [str(binary()), *map(str, arguments)]
    environment = {**os.environ, "NO_COLOR": "1"}
    done = subprocess.run(
        command, check=False, capture_output=True, text=True, timeout=timeout_s, env=environment
    )
    run = Run(done.returncode, done.stdout, done.stderr)
    if expect is not None and run.code != expect:
        raise AssertionError(f"{' '.join(command)}\nleft with {run.code}, expected {expect}\n{run.text}")
    return run


def map_project(project: Path, output: Path, *options) -> Path:
    """Runs the main job and gives the folder of its files."""
    groundfit("map", project, "--output", output, "--quiet", *options)
    return output


def cut(project: Path, output: Path, number: int, into: Path) -> Path:
    """The same zones cut to another number from the stored merges, in a folder of their own."""
    groundfit("zones", project, "--from", output, "--number", number, "--output", into)
    return into


def why_at(project: Path, x: float, y: float) -> dict:
    """What the program knows of a place: grid coordinates or longitude and latitude."""
    return json.loads(groundfit("why", project, "--json", "--", x, y).out)


def ground(why: dict, factor: str) -> dict:
    """What `why` found of a factor: `found` in words, `value` as a number or the index of a class."""
    for row in why["ground"]:
        if row["factor"] == factor:
            return row
    raise KeyError(f"{factor} is not among {[row['factor'] for row in why['ground']]}")
