"""The verb ``open``: the workspace on this laptop, for phones beside it when asked."""

from __future__ import annotations

from pathlib import Path

import click

from shotwright.base.errors import BadInput


@click.command("open")
@click.argument("project", type=click.Path(path_type=Path), required=False)
@click.option("--network", is_flag=True, help="Let paired phones on the same network in.")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8437, show_default=True, help="0: any free one."
)
@click.option("--no-browser", is_flag=True, help="Only print the address.")
def open_(project: Path | None, network: bool, port: int, no_browser: bool) -> None:
    """Open PROJECT in the browser; a file that is not there is started. Ctrl-C ends it."""
    from shotwright.web.serve import Workspace, open_browser

    file = project or _only_project()
    file = file if file.suffix else file.with_suffix(".shotwright")
    workspace = Workspace(file, port=port, network=network)
    reach = f"; phones join from the page 'Phones' ({workspace.site.network})" if network else ""
    click.echo(f"{file} is open at {workspace.url}{reach}. Ctrl-C ends it; everything is saved as you go.")
    workspace.run(None if no_browser else lambda: open_browser(workspace.url))


def _only_project() -> Path:
    found = sorted(Path.cwd().glob("*.shotwright"))
    if len(found) > 1:
        names = ", ".join(path.name for path in found)
        raise BadInput(
            f"this folder holds {len(found)}: {names}; name one: shotwright open FILE", field="project"
        )
    return found[0] if found else Path("my-robot.shotwright")
