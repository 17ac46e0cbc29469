"""Settings for tests: the app's own, with quick password hashes, plain static files and a data folder of its own."""

import os
import tempfile
from pathlib import Path

MADE_HERE = "evenground-tests-"
data = Path(os.environ.setdefault("EVENGROUND_DATA", tempfile.mkdtemp(prefix=MADE_HERE)))
# Processes that share the tests out inherit the folder that the first one made: each works in a part of its own, so
# that no test sees the files of another that runs beside it. A folder that a test names for a server is left alone.
if "PYTEST_XDIST_WORKER" in os.environ and data.name.startswith(MADE_HERE):
    data = data / os.environ["PYTEST_XDIST_WORKER"]
    data.mkdir(exist_ok=True)
    os.environ["EVENGROUND_DATA"] = str(data)
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
