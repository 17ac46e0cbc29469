"""What all tests share: the outside judges, and the list of what was not run for want of one."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import settings

NEEDS = "needs "
# On the landing the same examples every time; elsewhere new ones, so that something may yet be found.
settings.register_profile("landing", derandomize=True, deadline=None)
settings.register_profile("here", deadline=None)
settings.load_profile("landing" if os.environ.get("CI") else "here")
R_PACKAGES = ("lme4", "pbkrtest", "lmerTest", "emmeans", "jsonlite")


@pytest.fixture(scope="session")
def rscript() -> Path:
    """Rscript with the packages the judges use; skips where it is missing (CI installs it and fails on skips)."""
    found = shutil.which("Rscript")
    if found is None:
        pytest.skip("needs R with " + ", ".join(R_PACKAGES))
    wanted = ", ".join(f"'{name}'" for name in R_PACKAGES)
    code = f"q(status = !all(c({wanted}) %in% rownames(installed.packages())))"
    if subprocess.run([found, "-e", code], capture_output=True, check=False, timeout=60).returncode:
        pytest.skip("needs R with " + ", ".join(R_PACKAGES))
    return Path(found)


@pytest.fixture(scope="session")
def chromium() -> Path:
    """Headless Chromium; skips where it is missing (CI installs it and fails on skips)."""
    for name in ("chromium", "chromium-browser"):
        found = shutil.which(name)
        if found:
            return Path(found)
    pytest.skip("needs Chromium")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """List at the end what was not run and what it would need; `.ci/run` fails on this list."""
    reasons: Counter[str] = Counter()
    for report in terminalreporter.stats.get("skipped", []):
        text = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        reasons[text.removeprefix("Skipped: ")] += 1
    for reason, count in sorted(reasons.items()):
        terminalreporter.write_line(f"NOT RUN: {count} test{'s' if count > 1 else ''}: {reason}")
