"""What the template of a plan says beside each key: what it means, and where its default comes from."""

from __future__ import annotations

import functools
import re

from evenground.adapters.new_trial import template

_SECTION = re.compile(r"^(?:# )?\[+(?P<name>[a-z_.]+)\]+\s*$")
_KEY = re.compile(r"^(?:# )?(?P<key>[a-z][a-z0-9_]*) = (?P<value>.*)$")
_EXAMPLE = re.compile(r"^EXAMPLE(: |$)")
_ANY_SEASON = 2026


def comments() -> dict[str, str]:
    """Return the note of each key, by key path without entry numbers; a list of sections ends with ``[]``.

    Examples
    --------
    >>> comments()["layout.guard_rows"]
    'rows on each side of a strip that are sown but not weighed; judgement'
    """
    return _comments()


@functools.cache
def _comments() -> dict[str, str]:
    out: dict[str, str] = {}
    section, lists = "", set()
    for line in template(_ANY_SEASON).splitlines():
        if (found := _SECTION.match(line)) is not None:
            section = found["name"]
            if line.removeprefix("# ").startswith("[["):
                lists.add(section)
        elif line.removeprefix("# ").startswith("["):
            section = "files"
        elif (key := _KEY.match(line)) is not None:
            path = f"{_with_lists(section, lists)}.{key['key']}" if section else key["key"]
            if note := _note(key["value"]):
                out.setdefault(path, note)
    return out


def _with_lists(section: str, lists: set[str]) -> str:
    """Mark the lists in a section's name.

    Examples
    --------
    >>> _with_lists("methods.row_pattern", {"methods"})
    'methods[].row_pattern'
    """
    parts = section.split(".")
    names = [".".join(parts[: i + 1]) for i in range(len(parts))]
    return ".".join(f"{part}[]" if name in lists else part for part, name in zip(parts, names, strict=True))


def _note(value: str) -> str:
    """Return what stands behind the value; a # inside quotes begins no note."""
    quoted = False
    for i, sign in enumerate(value):
        if sign == '"':
            quoted = not quoted
        elif sign == "#" and not quoted:
            return _EXAMPLE.sub("", value[i + 1 :].strip())
    return ""
