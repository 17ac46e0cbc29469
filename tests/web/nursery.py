"""A process that bears servers: loaded once, it forks one whenever a line comes; fifty can be killed in a minute.

Each child is the app behind its real server. The parent's answer is a line with the child's process id and port.
"""

from __future__ import annotations

import os
import sys


def main() -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.web.settings"
    import django

    django.setup()
    from django.conf import settings
    from django.db import connections
    from django.urls import get_resolver

    from evenground.web.accounts.models import User
    from evenground.web.accounts.services import make_farm
    from evenground.web.config.wsgi import application
    from evenground.web.network.serving import make_server
    from evenground.web.trials.migrating import prepare_database
    from evenground.web.trials.models import Trial
    from evenground.web.trials.services import make_trial

    assert get_resolver().url_patterns  # loads every page now and not in each child
    prepare_database(settings.DATA)
    if not Trial.objects.exists():
        owner = User.objects.create_user("owner", password="a long enough word", local=True)
        make_trial(farm=make_farm(name="Farm", owner=owner), name="Hard", season=2026, by=owner)
    connections.close_all()
    print(Trial.objects.get().slug, flush=True)
    connections.close_all()
    for _ in sys.stdin:
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reading)
            server = make_server(application, host="127.0.0.1", port=0)
            server.prepare()
            os.write(writing, f"{server.bind_addr[1]}\n".encode())
            os.close(writing)
            server.serve()
            os._exit(0)
        os.close(writing)
        with os.fdopen(reading) as told:
            print(child, told.readline().strip(), flush=True)
        os.waitpid(child, 0)


if __name__ == "__main__":
    main()
