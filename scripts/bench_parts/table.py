"""The bench's table, its last line and the line of the results file."""

import csv
import platform
import statistics
import subprocess
import time
from pathlib import Path

from .programs import Run

MB = 1_000_000


def middle(runs: list[Run]) -> float | None:
    """The median of the seconds, or nothing when the time was up."""
    seconds = [run.seconds for run in runs]
    return None if None in seconds else statistics.median(seconds)


def peak_mb(runs: list[Run]) -> float:
    """The greatest peak."""
    return max(run.peak_bytes for run in runs) / MB


def show(name: str, runs: list[Run], limit_s: float) -> None:
    """Prints the seconds of a program by stage."""
    seconds = middle(runs)
    if seconds is None:
        print(f"\n{name}: not done after {limit_s:.0f} s, ended; peak {peak_mb(runs):,.0f} MB by then")
        return
    told = "" if len(runs) == 1 else f", median of {len(runs)}"
    print(f"\n{name}: {seconds:.2f} s from files to GeoJSON{told}; peak {peak_mb(runs):,.0f} MB")
    for group, mark in (("stages", ""), ("later", "  (after GeoJSON, not counted)")):
        for place, (stage, _) in enumerate(getattr(runs[0], group)):
            taken = statistics.median(getattr(run, group)[place][1] for run in runs)
            print(f"  {taken:>9.2f} s  {stage}{mark}")


def ratio(runs: list[Run] | None, own_seconds: float, limit_s: float) -> str:
    """How many times as long a peer takes: `31.2x`, `>12.5x` when its time was up, `-` when it did not run."""
    if not runs:
        return "-"
    seconds = middle(runs)
    return f">{limit_s / own_seconds:.1f}x" if seconds is None else f"{seconds / own_seconds:.1f}x"


def append(path: Path, row: dict[str, object]) -> None:
    """Adds a line to the results file; one with other columns is kept beside it under another name."""
    if path.exists():
        with path.open(newline="") as lines:
            head = next(csv.reader(lines), [])
        if head != list(row):
            path.rename(path.with_suffix(f".until-{time.strftime('%Y%m%dT%H%M%S')}.csv"))
    is_new = not path.exists()
    with path.open("a", newline="") as lines:
        writer = csv.DictWriter(lines, list(row))
        if is_new:
            writer.writeheader()
        writer.writerow(row)


def machine() -> str:
    """Processor, cores and memory."""
    facts = Path("/proc/cpuinfo").read_text() if Path("/proc/cpuinfo").exists() else ""
    models = [line.split(":", 1)[1].strip() for line in facts.splitlines() if line.startswith("model name")]
    memory = Path("/proc/meminfo").read_text().split()[1] if Path("/proc/meminfo").exists() else "0"
    name = models[0] if models else platform.machine()
    return f"{name}; {len(models)} cores; {int(memory) / 1e6:.0f} GB"


def commit(root: Path) -> str:
    """The commit, with a plus when files differ from it."""
    say = ["git", "-C", str(root)]
    try:
        name = subprocess.run([*say, "rev-parse", "--short=12", "HEAD"], capture_output=True, text=True, check=True)
        changed = subprocess.run([*say, "status", "--porcelain"], capture_output=True, text=True, check=True)
    except (OSError, subprocess.CalledProcessError):
        return "unknown"
    return name.stdout.strip() + ("+" if changed.stdout.strip() else "")
