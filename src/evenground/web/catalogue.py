"""The catalogues of translations: found in code, templates and scripts, kept as text, made ready without other tools.

``python -m evenground.web.catalogue`` (``make words``) finds every string and writes the .po files, where translations
are entered; `compile_all` turns them into what Django reads, at every start where a text is newer than that.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import sys
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract, extract_javascript, extract_python
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.conf import settings
from django.utils.translation.template import templatize

WEB = Path(__file__).resolve().parent
LOCALE = WEB / "locale"
LANGUAGES = ("de",)
DOMAIN_OF_PAGES, DOMAIN_OF_SCRIPTS = "django", "djangojs"
DOMAINS = (DOMAIN_OF_PAGES, DOMAIN_OF_SCRIPTS)
WIDTH = 110

KEYWORDS: dict[str, Any] = {
    "_": None,
    "gettext": None,
    "gettext_lazy": None,
    "gettext_noop": None,
    "ngettext": (1, 2),
    "ngettext_lazy": (1, 2),
    "pgettext": ((1, "c"), 2),
    "pgettext_lazy": ((1, "c"), 2),
    "npgettext": ((1, "c"), 2, 3),
}
Found = tuple[int, Any, list[str], Any]


def extract_template(file: Any, keywords: Any, tags: Any, options: Any) -> Iterator[Found]:  # noqa: ANN401 - Babel's form
    """Find the strings of a Django template; a method of extraction as Babel calls it."""
    source = templatize(file.read().decode("utf-8"))
    # What is left of the page around the strings has no indentation that a reader of Python could follow.
    lines = "\n".join(line.lstrip() for line in source.splitlines())
    calls = re.sub(r"""(?m)^(?:(?!\bu?n?p?n?gettext\(|\b_\().)*$""", "", lines)
    for function, arguments in _calls(calls):
        wanted = io.BytesIO(f"{function}{arguments}".encode())
        line = calls[: calls.index(f"{function}{arguments}")].count("\n") + 1
        for _line, name, messages, comments in extract_python(wanted, keywords, tags, options):
            yield line, name, messages, comments


def _calls(text: str) -> Iterator[tuple[str, str]]:
    """Find calls such as ``gettext(u'...')`` in what is left of a template."""
    for start in re.finditer(r"\b(n?p?gettext|_)\(", text):
        depth, quote, position = 1, "", start.end()
        while depth and position < len(text):
            sign = text[position]
            if quote:
                if sign == "\\":
                    position += 1
                elif sign == quote:
                    quote = ""
            elif sign in "'\"":
                quote = sign
            else:
                depth += {"(": 1, ")": -1}.get(sign, 0)
            position += 1
        yield start[1], text[start.end() - 1 : position]


METHODS: dict[str, Any] = {
    ".py": extract_python,
    ".html": extract_template,
    ".txt": extract_template,
    ".js": extract_javascript,
}

NOT_IN_HEAD = re.compile(
    r'"(POT-Creation-Date|PO-Revision-Date|Report-Msgid|Last-Translator|Language-Team|Generated-By|Project-Id)'
)
OPTIONS = {"parse_template_string": True}


def sources(domain: str) -> Iterator[Path]:
    """Go through the files whose strings belong to a domain."""
    for path in sorted(WEB.rglob("*")):
        inside = path.relative_to(WEB)
        if not path.is_file() or "migrations" in inside.parts or inside.parts[0] == "locale":
            continue
        script = path.suffix == ".js" and "static" in inside.parts
        page = path.suffix in (".py", ".html", ".txt") and path != Path(__file__)
        if script if domain == DOMAIN_OF_SCRIPTS else page:
            yield path


def found_strings(domain: str) -> Catalog:
    """Gather every string of a domain, with the files it stands in."""
    catalog = Catalog(domain=domain, project="evenground", fuzzy=False, charset="utf-8")
    for path in sources(domain):
        place = path.relative_to(WEB).as_posix()
        with path.open("rb") as file:
            found = extract(METHODS[path.suffix], file, KEYWORDS, ["Translators:"], OPTIONS)
            for _line, message, comments, context in found:
                catalog.add(message, locations=[(place, 1)], auto_comments=comments, context=context)
    return catalog


def po_path(language: str, domain: str, folder: Path = LOCALE) -> Path:
    """Return where a catalogue's text is kept."""
    return folder / language / "LC_MESSAGES" / f"{domain}.po"


def read_catalogue(path: Path) -> Catalog:
    """Read a catalogue's text.

    Raises
    ------
    ValueError
        If its head or a string in it is marked doubtful (fuzzy): such a catalogue would be left out without a word.
    """
    with path.open("rb") as file:
        catalog = read_po(file, domain=path.stem)
    doubtful = [str(m.id) for m in catalog if m.fuzzy and m.id]
    if catalog.fuzzy or doubtful:
        what = "its head" if catalog.fuzzy else f"{len(doubtful)} strings ({doubtful[0]!r} first)"
        raise ValueError(f"{path.name}: {what} marked fuzzy; check the translation and take the mark away.")
    return catalog


def renew(language: str, domain: str, folder: Path = LOCALE) -> list[str]:
    """Bring a catalogue's text up to the strings there are now; translations stay.

    Returns
    -------
    list of str
        Strings that have no translation yet.
    """
    path, found = po_path(language, domain, folder), found_strings(domain)
    catalog = read_catalogue(path) if path.is_file() else Catalog(locale=language, domain=domain, project="evenground")
    catalog.fuzzy, catalog.charset = False, "utf-8"
    catalog.update(found, no_fuzzy_matching=True)
    catalog.obsolete.clear()
    catalog.header_comment = f"# The words of evenground, {language}."
    text = io.BytesIO()
    write_po(text, catalog, width=WIDTH, sort_output=True, omit_header=False, include_lineno=False)
    # The head without dates, so that the text changes only when a string does.
    lines = [x for x in text.getvalue().decode().splitlines() if not NOT_IN_HEAD.match(x)]
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(lines).strip() + "\n", encoding="utf-8")
    return [str(m.id if isinstance(m.id, str) else m.id[0]) for m in catalog if m.id and not _said(m.string)]


def _said(string: str | Sequence[str] | None) -> bool:
    return bool(string) if isinstance(string, str) else string is not None and len(string) > 0 and all(string)


def compile_all(folder: Path = LOCALE, to: Path | None = None) -> list[Path]:
    """Make of each catalogue's text what Django reads, where that is missing or older.

    Parameters
    ----------
    folder : Path
        Where the texts are.
    to : Path or None
        Where to write; beside the texts if not given.

    Returns
    -------
    list of Path
        What was written.
    """
    written = []
    for text in sorted(folder.glob("*/LC_MESSAGES/*.po")):
        made = (to or folder) / text.relative_to(folder).with_suffix(".mo")
        if not made.is_file() or made.stat().st_mtime_ns < text.stat().st_mtime_ns:
            made.parent.mkdir(parents=True, exist_ok=True)
            _write_mo(read_catalogue(text), made)
            written.append(made)
    return written


def _write_mo(catalog: Catalog, path: Path) -> None:
    """Write at once or not at all: several processes may start together."""
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    with os.fdopen(handle, "wb") as file:
        write_mo(file, catalog)
    Path(name).replace(path)


def compile_at_start() -> None:
    """Make the catalogues ready; where the package cannot be written to, in the data folder."""
    try:
        compile_all(LOCALE)
    except OSError:
        beside = Path(settings.DATA) / "locale"
        with contextlib.suppress(OSError):
            compile_all(LOCALE, to=beside)
            settings.LOCALE_PATHS = [beside, *settings.LOCALE_PATHS]


def catalogue_of(language: str, domain: str, folder: Path = LOCALE) -> dict[str, str | list[str]]:
    """Return the translations of a domain: one string each, or the forms for one and for several."""
    path = po_path(language, domain, folder)
    if not path.is_file():
        return {}
    out: dict[str, str | list[str]] = {}
    for message in read_catalogue(path):
        if message.id and _said(message.string):
            key = message.id if isinstance(message.id, str) else message.id[0]
            out[str(key)] = message.string if isinstance(message.string, str) else list(message.string or ())
    return out


def main(arguments: Iterable[str] = ()) -> int:
    """Find all strings and renew every catalogue; says what is not translated yet."""
    listing = "--list" in set(arguments)
    for language in LANGUAGES:
        for domain in DOMAINS:
            absent = renew(language, domain)
            sys.stdout.write(f"{language} {domain}: {len(absent)} strings without a translation\n")
            sys.stdout.writelines(f"  {text}\n" for text in absent if listing)
    compile_all()
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
