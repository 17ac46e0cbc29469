"""Open the app in the browser: on this machine only, or with --network for the phones of the farm.

The first start makes the database and puts the invented demo trial into it. Everything is kept in the data folder.
With --network it speaks https with the farm's own authority; a second, plain port only hands that authority to phones.
"""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evenground.basis.errors import InputError, problem
from evenground.cli.output import note

if TYPE_CHECKING:
    from evenground.web.network.authority import Papers

PORT = 8420


def run(
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port; 0 takes a free one.")] = PORT,
    data: Annotated[Path | None, typer.Option(help="Folder for the database and backups.")] = None,
    network: Annotated[bool, typer.Option("--network", help="Let the phones of the farm in, over https.")] = False,
    name: Annotated[str | None, typer.Option(help="Name or address phones use; with --network.")] = None,
) -> None:
    """See the module docstring, which is the help text."""
    if data is not None:
        os.environ["EVENGROUND_DATA"] = str(data.resolve())
    os.environ["DJANGO_SETTINGS_MODULE"] = "evenground.web.config.settings"
    from evenground.web.config.places import data_folder, secret_key  # the web layer is not loaded for other commands

    folder = data_folder()
    try:
        secret_key(folder, create=True)
        papers = _network(folder, port, name) if network else None
    except OSError as error:
        text = f"this folder cannot be written to: {error.strerror}."
        raise InputError([problem(text, field="--data", given=folder, allowed="a folder to write into")]) from error
    if not network:
        os.environ.pop("EVENGROUND_NETWORK_HOSTS", None)
    _serve(folder, port, papers)


def _network(folder: Path, port: int, name: str | None) -> Papers:
    """Make or renew the farm's papers, and tell the settings under which names phones come."""
    from evenground.web.network.authority import PRIVATE_NAMES, may_vouch, papers
    from evenground.web.network.reach import reach

    if port == 0:
        raise InputError([problem("phones keep the address; it needs a port that stays.", field="--port", given=port)])
    if name is not None and not may_vouch(name):
        allowed = "a private address, or a name ending in " + ", ".join(PRIVATE_NAMES)
        text = "the farm's authority vouches for private names only."
        raise InputError([problem(text, field="--name", given=name, allowed=allowed)])
    names = reach(name)
    made = papers(folder / "authority", names, now=datetime.now(UTC))
    os.environ["EVENGROUND_NETWORK_HOSTS"] = ",".join(names)
    os.environ["EVENGROUND_DOORSTEP"] = f"http://{names[0]}:{port + 1}/"
    os.environ["EVENGROUND_FINGERPRINT"] = made.fingerprint
    return made


def _serve(folder: Path, port: int, papers: Papers | None) -> None:
    """Make everything ready and serve until stopped."""
    import django

    django.setup()
    from django.conf import settings
    from django.core.management import call_command

    from evenground.web.network.authority import root_der
    from evenground.web.network.doorstep import doorstep
    from evenground.web.network.first_start import local_owner, way_in, with_demo
    from evenground.web.network.serving import make_server, run_until_stopped
    from evenground.web.trials.migrating import prepare_database

    prepare_database(folder, note)
    call_command("collectstatic", interactive=False, verbosity=0, clear=False)
    with_demo(local_owner(), note)
    # Only now, because the application lists the static files when it is made.
    from evenground.web.config.wsgi import application

    note(f"Data: {folder}")
    beside = []
    # All addresses only where the farm's network was asked for; EVENGROUND_LISTEN narrows that to one.
    host = "127.0.0.1" if papers is None else os.environ.get("EVENGROUND_LISTEN", "0.0.0.0")
    address = f"http://{host}:{{port}}/" if papers is None else f"https://{settings.NETWORK_HOSTS[0]}:{{port}}/"
    if papers is not None:
        step = doorstep(root_der(papers.root.parent), papers.fingerprint, address.format(port=port))
        beside.append(make_server(step, host=host, port=port + 1, threads=2))
        note(f"Phones first go to {settings.DOORSTEP} and check: {papers.fingerprint}")
        if secret := way_in():
            note(f"Nobody has a password yet. Set yours here: {address.format(port=port)}people/join/{secret}/")
    try:
        server = make_server(application, host=host, port=port, papers=papers)
        ready = "Open {address} in the browser. Ctrl-C ends."
        run_until_stopped(server, lambda _, p: note(ready.format(address=address.format(port=p))), *beside)
    except OSError as error:
        text = f"this port cannot be used: {error.strerror or error}."
        raise InputError([problem(text, field="--port", given=port, allowed="a free port")]) from error
