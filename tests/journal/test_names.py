"""No name of a project reaches out of its folder."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.journal.library import slug_of


@pytest.mark.parametrize(
    ("name", "slug"),
    [
        ("Hut shawl", "hut-shawl"),
        ("../../etc/passwd", "etc-passwd"),
        ("/root/.ssh", "root-ssh"),
        ("C:\\Windows", "c-windows"),
        ("..", "project"),
        ("...", "project"),
        ("", "project"),
        ("-rf", "rf"),
        ("~keeper", "keeper"),
        ("$(touch x)", "touch-x"),
        ("a\x00b", "a-b"),
        ("NUL", "nul-project"),
        ("com1", "com1-project"),
        ("Straße", "strasse"),
        ("Шаль", "шаль"),
        ("雪の帽子", "雪の帽子"),
        ("ﬁne", "fine"),
        (".hidden", "hidden"),
        ("café", "café"),
        ("cafe\u0301", "café"),
    ],
)
def test_slugs(name: str, slug: str) -> None:
    assert slug_of(name) == slug


@given(st.text(max_size=300))
@settings(derandomize=True, deadline=None)
def test_a_slug_is_one_plain_file_name(name: str) -> None:
    slug = slug_of(name)
    assert slug
    assert Path(slug).name == slug
    assert not set(slug) & set('/\\:*?"<>|. \0')
    assert not slug.startswith("-")
    assert slug.isprintable()
    assert len(f".{slug}.knitlog.lock".encode()) <= 255
    assert slug_of(slug) == slug


def test_a_very_long_name_is_cut_to_what_a_disk_takes() -> None:
    slug = slug_of("\u00e4" * 500)
    assert slug == "\u00e4" * 40  # 80 bytes
