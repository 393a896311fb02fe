"""What all outside checks share: the sample site mapped once, and the last line."""

import pytest

from program import SAMPLE, map_project
from small_site import edited_sample


@pytest.fixture(scope="session")
def sample_output(tmp_path_factory):
    """The sample site as its project file stands, ratings included."""
    return map_project(SAMPLE / "project.toml", tmp_path_factory.mktemp("sample") / "out")


@pytest.fixture(scope="session")
def exact_output(tmp_path_factory):
    """The sample site without vote, phase 1 or simplifying, merged only where nothing is lost."""
    folder = tmp_path_factory.mktemp("exact")
    zones = {"vote": 0, "smallest_ha": 0.0, "fidelity": 1.0, "keep": 1.0, "simplify_m": 0.0}
    return map_project(edited_sample(folder, zones), folder / "out")


def pytest_unconfigure(config):
    """One plain line for people and logs, after all others."""
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    if reporter is None or config.option.collectonly:
        return
    count = {name: len(reporter.stats.get(name, [])) for name in ("passed", "failed", "error", "skipped")}
    failed = count["failed"] + count["error"]
    reporter.write_line(
        f"outside checks: {count['passed']} passed, {failed} failed, {count['skipped']} skipped"
    )
