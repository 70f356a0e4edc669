"""The command ``shotwright``: finds the verb, loads only that one, turns errors into lines and exit codes."""

from __future__ import annotations

import difflib
import importlib
import sys
from collections.abc import Sequence
from typing import NamedTuple

import click

from shotwright import __version__
from shotwright.base.errors import BadFile, Cancelled, ShotwrightError

EXIT_BAD_INPUT = 2
EXIT_STOPPED = 130  # what a shell reports for a program stopped from the keyboard


class Verb(NamedTuple):
    """Where a verb lives, and its line in the list."""

    where: str
    help: str


# The list is kept here in words, so that printing it loads none of the modules behind it.
SECTIONS: dict[str, dict[str, Verb]] = {
    "Keep a project": {
        "new": Verb("projects:new", "Start a project file."),
        "import": Verb(
            "projects:import_", "Read a game, prototypes, launchers, a drive, trials or shots into it."
        ),
        "export": Verb("projects:export", "Write it out as a folder of plain files, or as a copy."),
        "log": Verb("log:log", "Add shots, list them, set one aside, take it back."),
        "open": Verb("shotwright.web.command:open_", "Open it in the browser, for phones too when asked."),
    },
    "Ask what a shot needs": {
        "flight": Verb("flights:flight", "Fly one ball from given launch values."),
        "windows": Verb(
            "flights:windows", "Show which speeds and elevations score from each firing position."
        ),
        "moving-shot": Verb("moving:moving_shot", "Aim from a robot that drives and turns."),
    },
    "Ask what a design would throw": {
        "predict": Verb("launchers:predict", "Predict what prototypes on paper throw, reach and hit."),
        "sweep": Verb("launchers:sweep", "Map a prototype on paper over two of its settings."),
    },
    "Ask what drives it": {
        "motor": Verb("drive:motor", "Show what motors do, cold and warm; fit one from readings."),
        "ratio": Verb("drive:ratio", "Search motor, ratio and wheel for a match; list buildable ratios."),
        "heat": Verb("drive:heat", "Follow a match: currents, energy, temperatures, ways to stop."),
        "winding": Verb("drive:winding", "Wind a piston: torque over a turn, current, shots a minute, heat."),
    },
    "Ask what carries it": {
        "drive-base": Verb(
            "robot:drive_base", "Sprint, push, turn; the ratio for your mix of sprints and pushes."
        ),
        "tilt": Verb("robot:tilt", "Worm, weight, slews; what backlash costs in hits."),
        "feed": Verb("robot:feed", "Balls to the launcher: interval, capacity, traction, jams."),
        "brake": Verb("robot:brake", "Stand against a push: pads, air or springs, actuations."),
        "power": Verb("robot:power", "Everything at once over a match: sag, breaker, energy, who waits."),
    },
    "Ask what the shots show": {
        "calibrate": Verb("calibrating:calibrate", "Correct a prototype's model by its own trials."),
        "video": Verb("video:video", "Measure shots on a phone's clip: speed, elevation, drag, spin."),
        "video-lens": Verb("video:video_lens", "Measure a phone's lens on a clip of a chessboard."),
        "dispersion": Verb("evidence:dispersion", "Mean point and spread of each trial, with intervals."),
        "compare": Verb("evidence:compare", "Set prototypes against each other."),
        "sample-size": Verb("evidence:sample_size", "Tell how many shots a comparison needs, before firing."),
        "drop-test": Verb("drops:drop_test", "Turn drop and rebound heights into a restitution."),
        "settings": Verb("settings:settings", "Hit probability of each prototype over a grid of settings."),
        "hit": Verb("evidence:hit", "Hit probability of each prototype at each firing position."),
        "map": Verb("maps:floor", "Hit probability over the whole floor, and the best places."),
    },
    "Make parts": {
        "spring": Verb("springs:spring", "Tell a spring's force, energy and margins, or find one in a list."),
        "cam": Verb("cams:cam", "Draw a snail cam that winds a spring with even torque and lets go."),
        "spiral-gear": Verb(
            "parts:spiral_gear", "Draw a spiral gear and its rack, or a drum, that wind a spring evenly."
        ),
        "plate": Verb("parts:plate", "Draw a hub plate, a wheel disc or a hood's side plate, ready to cut."),
        "parts": Verb("parts:parts", "List the parts that the project keeps; make one again, or remove it."),
    },
    "Plan the match": {
        "shot-table": Verb("shot_table:shot_table", "Tell what to set at which distance; drivers' card."),
        "match": Verb("match:match", "Set match plans side by side: points, second choice, to-do list."),
    },
    "Decide and show": {
        "choose": Verb("choosing:choose", "Rank the prototypes; record the choice and its reason."),
        "notebook": Verb("reports:notebook", "Write the engineering notebook, HTML and PDF."),
    },
    "Try it and check it": {
        "demo": Verb("reports:demo", "Run the whole chain on an invented game with simulated shots."),
        "verify": Verb("reports:verify", "Compute every published check value and compare."),
        "warm-up": Verb("reports:warm_up", "Compile everything now, so that no later verb waits for it."),
    },
}
VERBS: dict[str, Verb] = {name: verb for section in SECTIONS.values() for name, verb in section.items()}


class LazyGroup(click.Group):
    """A group that knows its commands by name and loads one when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click asks this way
        """Names in the order of the chain, not of the alphabet."""
        return list(VERBS)

    def get_command(
        self,
        ctx: click.Context,  # noqa: ARG002 - click asks this way
        cmd_name: str,
    ) -> click.Command | None:
        """Load the command of that name; None when there is none."""
        verb = VERBS.get(cmd_name)
        if verb is None:
            return None
        module, _, attribute = verb.where.partition(":")
        # A verb of another shell is named in full; the shells know each other by name only.
        where = module if "." in module else f"shotwright.cli.{module}"
        command = getattr(importlib.import_module(where), attribute)
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the verb, or say which one is nearest."""
        if args[0] not in VERBS and not args[0].startswith("-"):
            near = difflib.get_close_matches(args[0], VERBS, n=1)
            hint = f"did you mean {near[0]!r}?" if near else f"the verbs are {', '.join(VERBS)}"
            raise click.UsageError(f"{args[0]!r} is not a verb; {hint}")
        return super().resolve_command(ctx, args)

    def format_commands(
        self,
        ctx: click.Context,  # noqa: ARG002 - click asks this way
        formatter: click.HelpFormatter,
    ) -> None:
        """Write the list of verbs without loading them."""
        for heading, verbs in SECTIONS.items():
            with formatter.section(heading):
                formatter.write_dl([(name, verb.help) for name, verb in verbs.items()])


@click.group(
    cls=LazyGroup,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Each verb has its own --help. Type quantities with their unit: 4 in, 120 g, 52 deg, 3000 rpm.",
)
@click.version_option(__version__, prog_name="shotwright", message="%(prog)s %(version)s")
@click.pass_context
def shotwright(context: click.Context) -> None:
    """From a rule book and a handful of test shots to a defended choice of launcher."""
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        What follows the program's name; those of the process by default.

    Returns
    -------
    int
        Exit code: 0, or 1 when checks failed, 2 for something the person can mend, 130 when stopped.
    """
    # A terminal or a pipe with few letters shall show a question mark rather than end the work.
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    given = list(sys.argv[1:] if arguments is None else arguments)
    try:
        code = shotwright.main(given, prog_name="shotwright", standalone_mode=False)
    except (click.Abort, Cancelled, KeyboardInterrupt):
        return complain("stopped", EXIT_STOPPED)
    except click.UsageError as wrong:
        where = wrong.ctx.command_path if wrong.ctx else "shotwright"
        return complain(f"{wrong.format_message().rstrip('.')} (see {where} --help)", EXIT_BAD_INPUT)
    except click.ClickException as wrong:
        return complain(wrong.format_message(), EXIT_BAD_INPUT)
    except BadFile as wrong:
        for problem in wrong.problems:
            complain(str(problem), EXIT_BAD_INPUT)
        return EXIT_BAD_INPUT
    except ShotwrightError as wrong:
        return complain(str(wrong), EXIT_BAD_INPUT)
    return code if isinstance(code, int) else 0


def complain(message: str, code: int) -> int:
    """Print one line on stderr and hand the exit code on."""
    click.echo(f"shotwright: {' '.join(message.split())}", err=True)
    return code


if __name__ == "__main__":
    sys.exit(main())
