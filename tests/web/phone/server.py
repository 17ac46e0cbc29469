"""The app as it is really served, for the browser tests of the phone page; run as a process of its own.

``python -m tests.web.phone.server PORT``, with a data folder in the environment. A file ``salt`` in it changes the
version of the page, as a new release would; ``slow`` in it holds answers up for that many seconds.
"""

from __future__ import annotations

import os
import sys
import time

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "evenground.web.config.settings")


def main() -> None:
    import django

    django.setup()
    from dataclasses import replace

    from django.core.management import call_command

    from evenground.web.config.places import data_folder, secret_key
    from evenground.web.config.wsgi import application
    from evenground.web.network.first_start import local_owner, with_demo
    from evenground.web.network.serving import make_server, run_until_stopped
    from evenground.web.phone import files

    data = data_folder()
    data.mkdir(parents=True, exist_ok=True)
    secret_key(data, create=True)
    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    with_demo(local_owner())

    as_they_are = files.app_files()

    def salted():
        salt = data / "salt"
        return replace(as_they_are, version=salt.read_text().strip()) if salt.is_file() else as_they_are

    files.app_files = salted

    def held_up(environ, start_response):
        slow = data / "slow"
        if slow.is_file() and environ["PATH_INFO"].startswith("/phone/api"):
            time.sleep(float(slow.read_text()))
        return application(environ, start_response)

    def ready(host: str, port: int) -> None:
        (data / "address").write_text(f"http://localhost:{port}")

    run_until_stopped(make_server(held_up, host="127.0.0.1", port=int(sys.argv[1])), ready)


if __name__ == "__main__":
    main()
