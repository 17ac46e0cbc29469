"""No change of a table without its migration, and nothing that Django's own checks would mind on a network."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest


@pytest.mark.parametrize(
    "words", [("makemigrations", "--check", "--dry-run"), ("check", "--deploy")], ids=lambda w: w[0]
)
def test_django_has_nothing_to_say(tmp_path, words):
    env = {**os.environ, "EVENGROUND_NETWORK_HOSTS": "farm.example", "EVENGROUND_DATA": str(tmp_path)}
    env["DJANGO_SETTINGS_MODULE"] = "evenground.web.config.settings"
    env.pop("DATABASE_URL", None)
    env.pop("DJANGO_ALLOW_ASYNC_UNSAFE", None)  # the tests' own settings set it for the browser driver
    fail = ["--fail-level", "INFO"] if words[0] == "check" else []
    done = subprocess.run(
        [sys.executable, "-m", "django", *words, *fail],
        env=env,
        capture_output=True,
        text=True,
        timeout=90,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "No changes" in done.stdout or "no issues" in done.stdout + done.stderr
