"""--trial from outside: a process of its own, with and without a database. What it answers: tests/web/trials."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

EVENGROUND = Path(sys.executable).with_name("evenground")
WEB = "[m for m in sys.modules if m.partition('.')[0] == 'django' or m.startswith('evenground.web')]"


def test_without_a_database_it_says_where_one_comes_from_and_makes_none(tmp_path):
    env = {**os.environ, "EVENGROUND_DATA": str(tmp_path)}
    for name in ("DJANGO_SETTINGS_MODULE", "DATABASE_URL"):
        env.pop(name, None)
    words = [EVENGROUND, "harvest", "--trial", "x"]
    done = subprocess.run(words, capture_output=True, text=True, timeout=120, check=False, env=env)
    assert done.returncode == 2
    assert "evenground serve" in done.stderr
    assert "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_commands_on_folders_do_not_load_the_web_layer(tmp_path):
    code = (
        "import sys\n"
        "sys.argv = ['evenground', 'harvest', sys.argv[1], '--json']\n"
        "from evenground.cli.app import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        f"print({WEB}, file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, tmp_path], capture_output=True, text=True, check=True, timeout=120
    )
    assert done.stderr.strip().splitlines()[-1] == "[]"
