"""What the forms of a page ask for: where each sends to, and the names it sends."""

from __future__ import annotations

from html.parser import HTMLParser
from urllib.parse import urljoin

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.web.accounts.permission_rules import RULES, VALUES


class Forms(HTMLParser):
    """Collect ``(address, names with the values offered)`` of every form that posts."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.page, self.found = page, {}
        self._names: dict[str, list[str]] | None = None
        self._select = ""

    def handle_starttag(self, tag, attrs) -> None:
        said = {n: v or "" for n, v in attrs}
        if tag == "form":
            posts = said.get("method", "").lower() == "post"
            self._names = self.found.setdefault(urljoin(self.page, said.get("action", "")), {}) if posts else None
        if self._names is None:
            return
        if tag in ("input", "textarea", "select", "button") and said.get("name"):
            offered = self._names.setdefault(said["name"], [])
            if said.get("value"):
                offered.append(said["value"])
            self._select = said["name"] if tag == "select" else ""
        if tag == "option" and self._select:
            self._names[self._select].append(said.get("value", ""))

    def handle_endtag(self, tag) -> None:
        if tag == "form":
            self._names = None


def routes() -> dict[str, tuple[str, ...]]:
    """Return every named address with its parameters."""
    out: dict[str, tuple[str, ...]] = {}

    def walk(resolver: URLResolver, space: str, given: tuple[str, ...]) -> None:
        for pattern in resolver.url_patterns:
            names = (*given, *pattern.pattern.converters)
            if isinstance(pattern, URLPattern):
                out[f"{space}{pattern.name}"] = names
            else:
                walk(pattern, space + (f"{pattern.namespace}:" if pattern.namespace else ""), names)

    walk(get_resolver(), "", ())
    return {name: out[name] for name in sorted(out) if name in RULES}


def address(route: str, slug: str, /, **more: object) -> str:
    """Return the address of a page of a trial, its other parameters as the table of rights has them."""
    return reverse(route, kwargs={p: {**VALUES, "slug": slug, **more}[p] for p in routes()[route]})


def forms_of(client, pages) -> dict[str, dict[str, list[str]]]:
    """Open pages and collect all their forms."""
    out: dict[str, dict[str, list[str]]] = {}
    for page in pages:
        answer = client.get(page)
        if answer.status_code == 200 and "html" in answer.headers.get("Content-Type", ""):
            forms = Forms(page)
            forms.feed(answer.content.decode())
            for action, names in forms.found.items():
                mine = out.setdefault(action.split("#")[0].split("?")[0], {})
                for name, offered in names.items():
                    mine[name] = [*mine.get(name, []), *offered]
    return out
