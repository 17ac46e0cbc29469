"""The app as a WSGI callable, for any server that speaks it."""

from __future__ import annotations

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "evenground.web.config.settings")
application = get_wsgi_application()
