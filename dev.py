"""Set up and run everything, standard library alone: ``python3 dev.py demo`` or ``python3 dev.py test``.

Makes an environment in ``.venv`` from ``requirements.lock`` (exact versions with hashes, wheels only),
installs this checkout into it, and goes on inside it. Nothing is installed anywhere else.
"""

import argparse
import hashlib
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

OLDEST = (3, 11)
# The reader may have any Python, so this line must come before anything that an old one can't run.
if sys.version_info < OLDEST:
    sys.exit("dev.py needs Python 3.11 or newer; this is " + sys.version.split()[0])

ROOT = Path(__file__).resolve().parent
LOCK = ROOT / "requirements.lock"
# CI gives another folder, so that a run from scratch leaves a developer's environment alone.
ENVIRONMENT = Path(os.environ.get("SHOTWRIGHT_VENV") or ROOT / ".venv").absolute()
MARKER = ENVIRONMENT / ".locked"
PYTHON = ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
LINT_IMPORTS = "from importlinter.cli import lint_imports_command as run; run()"

CHECKS = {
    "ruff check": ["-m", "ruff", "check"],
    "ruff format": ["-m", "ruff", "format", "--check"],
    "mypy": ["-m", "mypy"],
    "import-linter": ["-c", LINT_IMPORTS, "--no-logo"],
}
# One pytest run for the tests, the examples in docstrings and the examples in the manual.
TESTS = ["-m", "pytest", "--doctest-modules", "--doctest-glob=*.md", "src", "docs", "README.md", "tests"]


def main():
    """Read the command and run it; the exit code is 0 only when everything went well."""
    parser = argparse.ArgumentParser(
        prog="dev.py", description="Set up an environment in .venv, then run the demo or the tests in it."
    )
    verbs = parser.add_subparsers(dest="verb", required=True, metavar="{demo,test,check,lock}")
    demo = verbs.add_parser("demo", help="run the demonstration, from rule book to notebook")
    demo.add_argument("arguments", nargs=argparse.REMAINDER, help="handed on to `shotwright demo`")
    test = verbs.add_parser("test", help="style, types, imports, examples and tests")
    test.add_argument("--fast", action="store_true", help="leave out the tests marked slow")
    verbs.add_parser("check", help="style, types and imports only")
    verbs.add_parser("lock", help="for maintainers: move requirements.lock to the newest versions (needs uv)")
    asked = parser.parse_args()
    if asked.verb == "lock":
        return lock()
    set_up()
    if asked.verb == "demo":
        return run(["-m", "shotwright.cli.main", "demo", *asked.arguments])
    steps = dict(CHECKS)
    if asked.verb == "test":
        workers = str(min(os.cpu_count() or 1, 4))
        steps["tests"] = [*TESTS, "-q", "-n", workers, *(["-m", "not slow"] if asked.fast else [])]
    return run_steps(asked.verb, steps)


def run(arguments):
    """Run the environment's Python from the checkout; return its exit code."""
    # The numerical libraries would each start a thread per core, in every test worker.
    variables = {"PYTHONUTF8": "1", "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    return subprocess.call([PYTHON, *arguments], cwd=ROOT, env={**os.environ, **variables})


def run_steps(verb, steps):
    """Run all steps, also after one has failed, and close with one line that names the failures."""
    started = time.monotonic()
    failed = []
    for name, arguments in steps.items():
        print(f"== {name}", flush=True)
        if run(arguments):
            failed.append(name)
    seconds = time.monotonic() - started
    if failed:
        print(f"dev.py {verb}: FAILED in {seconds:.0f} s: {', '.join(failed)}")
        return 1
    print(f"dev.py {verb}: all {len(steps)} steps passed in {seconds:.0f} s: {', '.join(steps)}")
    return 0


def set_up():
    """Make the environment, unless it stands and is that of today's lock and project file."""
    wanted = fingerprint()
    if PYTHON.exists() and MARKER.exists() and MARKER.read_text(encoding="utf-8") == wanted:
        return
    started = time.monotonic()
    print(f"Setting up {ENVIRONMENT} from {LOCK.name}; the first time takes some minutes.", flush=True)
    MARKER.unlink(missing_ok=True)
    if not has_pip():
        make_environment()
    pip("install", "--require-hashes", "--only-binary", ":all:", "-r", str(LOCK))
    # The build tool comes from the lock too, so nothing unhashed is fetched for the checkout itself.
    pip("install", "--no-deps", "--no-build-isolation", "-e", str(ROOT))
    MARKER.write_text(wanted, encoding="utf-8")
    # Where this fails, the first command that needs it compiles, so set-up has done its part all the same.
    print("Compiling what is compiled, once for each installation.", flush=True)
    run(["-m", "shotwright.cli.main", "warm-up"])
    print(f"Ready after {time.monotonic() - started:.0f} s.", flush=True)


def fingerprint():
    """Hash what an environment is made from: lock, project file, Python, and where the checkout stands."""
    digest = hashlib.sha256()
    for file in (LOCK, ROOT / "pyproject.toml"):
        digest.update(file.read_bytes())
    digest.update(f"{sys.version_info[:2]} {ROOT}".encode())
    return digest.hexdigest()


def has_pip():
    """Whether the environment stands, runs this version of Python and has an installer."""
    if not PYTHON.exists():
        return False
    question = "import pip, sys; print(sys.version_info[:2])"
    answer = subprocess.run([PYTHON, "-c", question], capture_output=True, text=True, check=False)
    return answer.stdout.strip() == str(sys.version_info[:2])


def make_environment():
    """Make an empty environment with pip, or say what the system lacks."""
    try:
        import ensurepip  # noqa: F401 - Debian ships Python without it
        import venv
    except ImportError:
        sys.exit(
            "dev.py: this Python can't make an environment (venv or ensurepip is missing). "
            "On Debian and Ubuntu: sudo apt install python3-venv; then run the same command again."
        )
    if ENVIRONMENT.exists():
        shutil.rmtree(ENVIRONMENT)
    venv.EnvBuilder(with_pip=True, symlinks=os.name != "nt").create(ENVIRONMENT)


def pip(*arguments):
    """Run pip in the environment; stop with a hint when it fails."""
    command = [PYTHON, "-m", "pip", "--disable-pip-version-check", "-q", *arguments]
    if subprocess.call(command, cwd=ROOT):
        sys.exit(
            "dev.py: installing failed; pip's own words are above. Check the network (a proxy or a mirror "
            "goes into pip's configuration) and run the same command again: it goes on where it stopped."
        )


def lock():
    """Resolve the project's dependencies again, for all systems, with hashes and without addresses."""
    program = shutil.which("uv") or shutil.which("uv", path=str(PYTHON.parent))
    if not program:
        sys.exit("dev.py lock: uv is not installed; it is needed for this verb only")
    options = ["--group", "dev", "--universal", "--python-version", ".".join(map(str, OLDEST)), "--upgrade"]
    options += ["--generate-hashes", "--only-binary", ":all:", "--no-emit-index-url"]
    options += ["--no-header", "--quiet", "--output-file", LOCK]
    return subprocess.call([program, "pip", "compile", "pyproject.toml", *options], cwd=ROOT)


if __name__ == "__main__":
    sys.exit(main())
