"""Django's settings; what differs between machines comes from the environment (`evenground serve` sets it)."""

from __future__ import annotations

import os
from pathlib import Path

from evenground.web.config.places import DATABASE_VARIABLE, data_folder, database, secret_key, time_zone

WEB = Path(__file__).resolve().parent.parent
DATA = data_folder()
# Host names under which other machines reach this one; empty: this machine only.
NETWORK_HOSTS = [h for h in os.environ.get("EVENGROUND_NETWORK_HOSTS", "").split(",") if h]
NETWORK = bool(NETWORK_HOSTS)
# Where phones get the farm's authority, and its fingerprint to compare.
DOORSTEP = os.environ.get("EVENGROUND_DOORSTEP", "")
AUTHORITY_FINGERPRINT = os.environ.get("EVENGROUND_FINGERPRINT", "")

SECRET_KEY = secret_key(DATA)
DEBUG = False
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]", *NETWORK_HOSTS]
ROOT_URLCONF = "evenground.web.config.urls"
WSGI_APPLICATION = "evenground.web.config.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
AUTH_USER_MODEL = "accounts.User"

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "js_lib_leaflet",
    "leaflet",
    "evenground.web",
    "evenground.web.accounts",
    "evenground.web.trials",
    "evenground.web.start",
    "evenground.web.planning",
    "evenground.web.fields",
    "evenground.web.layouts",
    "evenground.web.sowing",
    "evenground.web.stands",
    "evenground.web.seasons",
    "evenground.web.harvests",
    "evenground.web.verdicts",
    "evenground.web.records",
    "evenground.web.phone",
    "evenground.web.transfer",
    "evenground.web.network",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "evenground.web.config.headers.SecurityHeaders",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "evenground.web.accounts.middleware.WhoIsThere",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ]
        },
    }
]

DATABASES = {"default": database(os.environ.get(DATABASE_VARIABLE), DATA)}

# Languages

LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", "English"), ("de", "Deutsch")]
LOCALE_PATHS = [WEB / "locale"]
FORMAT_MODULE_PATH = ["evenground.web.formats"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = time_zone()

# Files

STATIC_URL = "static/"
STATIC_ROOT = DATA / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
WHITENOISE_AUTOREFRESH = False
# Uploads: a photograph from a good phone has some 12 MB; a trial as a zip with photographs more.
DATA_UPLOAD_MAX_MEMORY_SIZE = 4_000_000
FILE_UPLOAD_MAX_MEMORY_SIZE = 4_000_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4000
DATA_UPLOAD_MAX_NUMBER_FILES = 40

# Who may do what

LOGIN_URL = "/people/login/"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "/people/login/"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]
SESSION_COOKIE_NAME = "evenground"
SESSION_COOKIE_AGE = 90 * 24 * 3600  # a phone in a pocket stays signed in over a season's gap
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = False  # the phone page reads it to send its entries
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = NETWORK
SECURE_SSL_REDIRECT = NETWORK
SECURE_HSTS_SECONDS = 31_536_000 if NETWORK else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = NETWORK
SECURE_HSTS_PRELOAD = NETWORK
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"screen": {"class": "logging.StreamHandler"}},
    "loggers": {"django": {"handlers": ["screen"], "level": "WARNING"}},
}
