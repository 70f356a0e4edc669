"""The verb ``cam``."""

from __future__ import annotations

from shotwright.cli.parts import part_command

cam = part_command("snail-cam", "cam")
