"""Settings for tests: the app's own, with quick password hashes, plain static files and a data folder of its own."""

import os
import tempfile

os.environ.setdefault("EVENGROUND_DATA", tempfile.mkdtemp(prefix="evenground-tests-"))

from evenground.web.config.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_AUTOREFRESH = True
WHITENOISE_USE_FINDERS = True
