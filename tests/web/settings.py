"""Settings for tests: the app's own, with quick password hashes, plain static files and a data folder of its own."""

import os
import tempfile
from pathlib import Path

os.environ.setdefault("EVENGROUND_DATA", tempfile.mkdtemp(prefix="evenground-tests-"))
# Processes that share the tests out inherit one folder from the first: each works in a part of its own, so that no test
# sees the files of another that runs beside it.
_PROCESS = os.environ.get("PYTEST_XDIST_WORKER", "")
if _PROCESS and Path(os.environ["EVENGROUND_DATA"]).name != _PROCESS:
    os.environ["EVENGROUND_DATA"] = str(Path(os.environ["EVENGROUND_DATA"]) / _PROCESS)
    Path(os.environ["EVENGROUND_DATA"]).mkdir(exist_ok=True)
os.environ.setdefault("EVENGROUND_TIME_ZONE", "Europe/Berlin")
# Tests that drive a browser keep its loop in their thread; the database is asked between its steps, never within.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

from evenground.web.config.settings import *  # noqa: E402, F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_AUTOREFRESH = True
WHITENOISE_USE_FINDERS = True

if "sqlite3" in DATABASES["default"]["ENGINE"]:  # noqa: F405
    # A file, as at work: threads that write at once behave differently with a database in memory.
    DATABASES["default"]["TEST"] = {"NAME": str(Path(os.environ["EVENGROUND_DATA"]) / "test.sqlite3")}  # noqa: F405
