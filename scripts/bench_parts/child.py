"""Runs a program and tells its peak memory, as the system counted it, or that its time was up."""

import os
import subprocess
import time
from dataclasses import dataclass
from pathlib import Path


@dataclass
class Ended:
    """How a program ended."""

    seconds: float
    peak_bytes: int
    in_time: bool


def high_water_bytes(process: int) -> int:
    """The most memory a running program has held so far; 0 once it has ended. What the system tells of a program that
    has ended counts what this process held when it began the other."""
    try:
        lines = Path(f"/proc/{process}/status").read_text().splitlines()
    except OSError:
        return 0
    high = [line.split()[1] for line in lines if line.startswith("VmHWM:")]
    return int(high[0]) * 1024 if high else 0


def run(command: list[str], log: Path, limit_s: float, environment: dict[str, str] | None = None) -> Ended:
    """Runs a program to its end or to the limit; raises with the end of its log when it fails."""
    started = time.monotonic()
    in_time = True
    peak_bytes = 0
    with log.open("w") as out:
        child = subprocess.Popen(command, stdout=out, stderr=subprocess.STDOUT, env={**os.environ, **(environment or {})})
        try:
            while True:
                peak_bytes = max(peak_bytes, high_water_bytes(child.pid))
                ended, status = os.waitpid(child.pid, os.WNOHANG)
                if ended:
                    break
                if in_time and time.monotonic() - started > limit_s:
                    in_time = False
                    child.kill()
                time.sleep(0.02)
        except BaseException:
            child.kill()
            raise
    # The process was waited for above; `subprocess` must not do so again.
    child.returncode = os.waitstatus_to_exitcode(status)
    if in_time and child.returncode != 0:
        tail = "\n".join(log.read_text(errors="replace").splitlines()[-15:])
        raise RuntimeError(f"{' '.join(command)} ended with {child.returncode}:\n{tail}")
    return Ended(time.monotonic() - started, peak_bytes, in_time)
