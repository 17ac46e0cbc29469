"""Files that wait: found again by their name in their own trial only, gone after a day, refused when too large."""

from __future__ import annotations

import os
import time

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import Http404

from evenground.basis.errors import InputError
from evenground.web import uploads


def test_kept_and_found_again(settings, tmp_path):
    settings.DATA = tmp_path
    token = uploads.keep(b"abc", "log.csv", 7)
    assert uploads.kept(token, 7) == uploads.Upload(token, "log.csv", b"abc")


@pytest.mark.parametrize("token", ["", "../secret-key", "0" * 32, "a" * 31, "\x00" * 32])
def test_no_other_names(settings, tmp_path, token):
    settings.DATA = tmp_path
    (tmp_path / "secret-key").write_text("secret")
    with pytest.raises(Http404):
        uploads.kept(token, 7)


def test_another_trial_finds_nothing(settings, tmp_path):
    settings.DATA = tmp_path
    token = uploads.keep(b"abc", "log.csv", 7)
    with pytest.raises(Http404):
        uploads.kept(token, 8)


def test_yesterdays_files_go(settings, tmp_path):
    settings.DATA = tmp_path
    old = uploads.keep(b"abc", "log.csv", 7)
    long_ago = time.time() - uploads.KEPT_S - 60
    for path in (tmp_path / "uploads").iterdir():
        os.utime(path, (long_ago, long_ago))
    new = uploads.keep(b"def", "log.csv", 7)
    assert {p.name.removesuffix(".json") for p in (tmp_path / "uploads").iterdir()} == {new}
    with pytest.raises(Http404):
        uploads.kept(old, 7)


def test_none_and_too_large():
    with pytest.raises(InputError):
        uploads.sent_file(None, largest_bytes=10)
    with pytest.raises(InputError, match="too large"):
        uploads.sent_file(SimpleUploadedFile("a.csv", b"x" * 11), largest_bytes=10)


def test_names_lose_their_folders():
    sent = SimpleUploadedFile("a.csv", b"x")
    sent._name = "../../etc/passwd"
    assert uploads.sent_file(sent, largest_bytes=10) == (b"x", "passwd")
