"""The fonts that come along are those that the README names."""

from __future__ import annotations

import hashlib
import re
from importlib.resources import files

import pytest

FONTS = files("shotwright.notebook") / "fonts"
NAMED = re.findall(
    r"\| `([^`]+)` \|[^|]*\| `([0-9a-f]{64})` \|", (FONTS / "README.md").read_text(encoding="utf-8")
)


@pytest.mark.parametrize(("name", "digest"), NAMED)
def test_font_file_is_the_one_named(name, digest):
    data = (FONTS / name).read_bytes()
    assert hashlib.sha256(data).hexdigest() == digest
    assert len(data) < 400_000


def test_every_font_is_named_and_licensed():
    found = {f.name for f in FONTS.iterdir() if f.name.endswith((".ttf", ".woff2"))}
    assert found == {name for name, _ in NAMED}
    assert "Apache License" in (FONTS / "LICENSE-OpenSans.txt").read_text(encoding="utf-8")
