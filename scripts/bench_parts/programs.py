"""The programs that are timed: groundfit and the peers. Each run gives seconds by stage, files to GeoJSON."""

import json
import os
import shutil
import sys
from dataclasses import dataclass, field
from pathlib import Path

from . import child

HERE = Path(__file__).resolve().parent
LAST_STAGE = "writing zones.geojson"
NO_LIMIT_S = 24 * 3600


@dataclass
class Run:
    """One run. `seconds` runs from files to GeoJSON; without it the time was up."""

    stages: list[tuple[str, float]]
    later: list[tuple[str, float]]
    peak_bytes: int
    seconds: float | None
    told: dict = field(default_factory=dict)


def groundfit(binary: Path, project: Path, output: Path, threads: int | None) -> Run:
    """A run of groundfit; what it writes after zones.geojson stands in `later`."""
    command = [str(binary), "map", str(project), "--output", str(output), "--overwrite", "--timings"]
    if threads is not None:
        command += ["--threads", str(threads)]
    ended = child.run(command, output.with_suffix(".log"), NO_LIMIT_S)
    record = json.loads((output / "run.json").read_text())
    stages = [(stage["stage"], stage["seconds"]) for stage in record["measured"]["stages"]]
    names = [name for name, _ in stages]
    if LAST_STAGE not in names:
        raise RuntimeError(f"run.json of groundfit has no stage `{LAST_STAGE}`, found: {', '.join(names)}")
    end = names.index(LAST_STAGE) + 1
    seconds = sum(taken for _, taken in stages[:end])
    return Run(stages[:end], stages[end:], ended.peak_bytes, seconds, record)


def peer(name: str, county: Path, folder: Path, threads: int | None, limit_s: float, sets: bool = False) -> Run:
    """A run of a peer script; imports and compiling are not in its seconds."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    command = [sys.executable, "-B", "-m", f"bench_parts.{name}", str(county), str(folder)]
    environment = {"PYTHONPATH": str(HERE.parent), "NUMBA_NUM_THREADS": str(threads or os.cpu_count())}
    ended = child.run(command + ["--sets"] * sets, folder / "log.txt", limit_s, environment)
    if not ended.in_time:
        return Run([], [], ended.peak_bytes, None)
    told = json.loads((folder / "told.json").read_text())
    stages = [(stage, taken) for stage, taken in told["stages"]]
    return Run(stages, [], ended.peak_bytes, sum(taken for _, taken in stages), told)
