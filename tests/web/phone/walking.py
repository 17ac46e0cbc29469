"""What a person does with the phone page, for the tests."""

from __future__ import annotations

import json
import re
import time

OPENED = "html[data-ready]"


def until(page, question: str, arg: object = None, patience_s: float = 20) -> None:
    """Ask in the page again and again until the answer is yes; its own policy forbids the tool's way of waiting."""
    end = time.monotonic() + patience_s
    while not page.evaluate(question, arg):
        if time.monotonic() > end:
            raise AssertionError(f"not within {patience_s} s: {question}")
        page.wait_for_timeout(100)


def open_page(context, address: str, where: str = ""):
    """Open the page and wait until it can be used; faults in its scripts fail the test."""
    page = context.new_page()
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on(
        "console", lambda said: page.faults.append(said.text) if re.search("Content Security|CSP", said.text) else None
    )
    page.goto(f"{address}/phone/#{where}")
    page.wait_for_selector(OPENED)
    return page


def kept_for_the_field(page) -> None:
    """Wait until the worker has kept the page and the trials are on the phone."""
    until(page, "navigator.serviceWorker.controller !== null")
    page.wait_for_selector(".list a")


def go(page, where: str) -> None:
    """Go to a screen by its address, as a tap on the first screen does."""
    page.evaluate("where => { location.hash = where; }", where)
    a_form = where.split("/", maxsplit=1)[0] not in ("", "entries", "phone", "entry")
    page.wait_for_selector("main > form" if a_form else "main > :not(form)", state="attached")
    page.wait_for_timeout(100)


def field(page, name: str):
    return page.locator(f'[data-name="{name}"]')


def fill(page, **values: str) -> None:
    """Fill fields by name, whatever they are: typed, picked or one of several."""
    for name, value in values.items():
        part = field(page, name)
        if part.evaluate("node => Boolean(node.closest('details') && !node.closest('details').open)"):
            page.locator("details.more > summary").tap()
        if part.evaluate("node => node.tagName") == "FIELDSET":
            part.locator(f'input[value="{value}"]').check()
        elif part.locator("select").count():
            part.locator("select").select_option(value)
        else:
            part.locator("input, textarea").first.fill(value)


def keep(page) -> None:
    page.locator(".bottom button").tap()


def kept(page, what: str = "Kept on this phone") -> None:
    keep(page)
    page.locator("#news", has_text=what).wait_for()


def count_plants(page, strip: str = "3", plants: str = "41", **more: str) -> None:
    go(page, "count")
    fill(page, strip=strip, length_m="5", plants=plants, **more)
    kept(page)


def entries(page) -> list[dict]:
    """What is kept on the phone, oldest first."""
    return page.evaluate(
        """() => new Promise((resolve, reject) => {
          const asked = indexedDB.open("evenground-phone");
          asked.onerror = () => reject(asked.error);
          asked.onsuccess = () => {
            const all = asked.result.transaction("entries").objectStore("entries").getAll();
            all.onsuccess = () => { asked.result.close(); resolve(all.result.sort((a, b) => a.order - b.order)); };
          };
        })"""
    )


def all_on_the_farm(page, n: int) -> None:
    """Wait until the phone knows that the farm has everything."""
    end = time.monotonic() + 25
    while True:
        found = entries(page)
        if len(found) >= n and all(e["state"] in ("stored", "already", "held") for e in found):
            return
        assert time.monotonic() < end, [(e["kind"], e["state"], e["problems"]) for e in found]
        page.wait_for_timeout(100)


def ids(found: list[dict]) -> set[str]:
    return {e["id"] for e in found}


def middle(feature: dict) -> tuple[float, float]:
    """Middle of a strip's outline, longitude and latitude."""
    ring = feature["geometry"]["coordinates"][0][:-1]
    return sum(p[0] for p in ring) / len(ring), sum(p[1] for p in ring) / len(ring)


def stand_at(context, lon: float, lat: float, accuracy: float = 2.0) -> None:
    context.set_geolocation({"longitude": lon, "latitude": lat, "accuracy": accuracy})


def as_json(value: object) -> str:
    return json.dumps(value, sort_keys=True)
