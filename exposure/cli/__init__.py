"""The same calls from a terminal. Exit codes: 0 done, 2 input refused, 3 done but for rows left out, 130 interrupted.

One that is ended from outside (SIGTERM, SIGHUP) gives 128 and the signal's number, after it has tidied up.
"""

import argparse
import gc
import io
import os
import re
import signal
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from importlib import import_module
from threading import current_thread, main_thread
from typing import NoReturn

_NEGATIVE = re.compile(r"-\.?\d")  # no option starts like that
_UNREAD = ("dask", "pint", "sparse", "cupy")  # xarray reads those installed to ask whether an array is theirs
COMMANDS = {  # name of the command -> one line of help; each lives in exposure.cli.<name>_command
    "site": "driving rain on open-field walls at one place, facing each way",
    "inspect": "look at a weather record before trusting it",
    "sources": "open climate sources, and the formats that can be read",
    "fetch": "hourly weather of one place from an open service",
    "building": "how hard rain is driven at every elevation of a building: figures, bands, class and the reasons",
    "details": "what to build on every elevation: schedule, water check, bare wrap, drying, take-off",
    "draw": "the junctions of every elevation as dimensioned sections: pictures and CAD drawings in a folder",
    "sheets": "what a designer hands over: sheets, file for the site, drawings, tables, in a folder",
    "record": "what phones recorded on site, checked, merged and printed as a handover sheet",
    "example": "files to start your own from: a house, its openings, an office's rule",
    "demo": "the invented place from end to end, offline: sheets, map and tables in a folder",
    "compare": "a list of sites ranked by what one stated wall gets on each: tables, a map layer and a page",
    "district": "every wall of every building of a file: tables and layers with index, band, class and level",
    "map": "every cell of a climate grid, walls facing every way: a Dataset, GeoTIFFs and a map",
    "evidence": "what was held against numbers from outside, and what has no such check: a page of it",
    "turn": "a model's rotated or curvilinear grid, or its forecasts, made a regular grid that every command reads",
    "change": "two results of district or of map side by side: the difference, and where the years hide it",
    "page": "map, questions and answers on a page in the browser, served on this machine",
}


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code."""
    if sys.stdout is None:  # closed by who started the command
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115 - lives as long as the process
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115 - as above
    if isinstance(sys.stdout, io.TextIOWrapper):  # a screen without a sign shows ? for it
        sys.stdout.reconfigure(errors="replace")
    own_process = arguments is None
    if arguments is None:
        arguments = sys.argv[1:]
        leave_unread(arguments)
        gc.disable()  # what libraries make as they are read stays: looking it through takes a tenth of a short command
    try:
        with _ended_in_order():
            return _done(arguments, own_process=own_process)
    except KeyboardInterrupt:
        print("Stopped; nothing was left half-written.", file=sys.stderr)
        return 130


def leave_unread(given: list[str]) -> None:
    """Run the command as where the libraries of other arrays are not installed, unless it may make such arrays.

    Only ``--dask`` makes any, and the page may. To read them takes longer than the sums of thirty years. An import
    of one after this fails as one that is not installed, so only a process that ends with its command may call it.
    """
    if given[:1] != ["page"] and not any(one.startswith("--d") for one in given):
        for name in _UNREAD:
            sys.modules.setdefault(name, None)  # type: ignore[arg-type]  # an import takes it for not installed


@contextmanager
def _ended_in_order() -> Iterator[None]:
    """Let a signal that ends the process unwind it, so that no part of a file and no process of ours is left."""

    def end(number: int, _: object) -> NoReturn:
        raise SystemExit(128 + number)

    heard = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {}
    if current_thread() is main_thread():  # nohup has SIGHUP ignored, which stays so
        before = {one: signal.signal(one, end) for one in heard if signal.getsignal(one) is signal.SIG_DFL}
    try:
        yield
    finally:
        for one, handler in before.items():
            signal.signal(one, handler)


class _Parser(argparse.ArgumentParser):
    """A parser whose refusals steer no terminal."""

    def error(self, message: str) -> NoReturn:
        from exposure.cli.output import for_the_screen

        super().error(for_the_screen(message))


class _Version(argparse.Action):
    """Print the version, looked up only when it is asked for, and end."""

    def __init__(self, option_strings: Sequence[str], dest: str) -> None:
        super().__init__(option_strings, dest, nargs=0, help="show program's version number and exit")

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> NoReturn:
        from exposure import __version__

        print(__version__)
        parser.exit()


def _done(given: list[str], *, own_process: bool) -> int:
    """Exit code of the command ``given``, once it has run; libraries are read in here, where Ctrl-C is told in a line."""
    from exposure.checks import RefusalError
    from exposure.cli.option_names import in_terminal
    from exposure.cli.output import check_outputs, for_the_screen

    parser = _Parser(
        prog="exposure",
        description="How hard rain is driven at each elevation, and the details that keep it out.",
    )
    parser.add_argument("--version", action=_Version)
    sub = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    asked = given[0] if given else None
    for name, line in COMMANDS.items():
        command = sub.add_parser(name, help=line, description=line)
        if name == asked:  # only the asked command is imported, so that a quick one stays quick
            import_module(f"exposure.cli.{name}_command").add_arguments(command)
    options = parser.parse_args(with_negatives_joined(given))
    try:
        _refuse_empty(options)
        command_module = import_module(f"exposure.cli.{options.command}_command")
        check_outputs(options, reads=command_module.READS, writes=command_module.WRITES)
        if own_process:  # the libraries are read
            gc.freeze()
            gc.enable()
        code = command_module.run(options)
        sys.stdout.flush()
    except RefusalError as refusal:
        print(f"Refused: {for_the_screen(in_terminal(refusal))}", file=sys.stderr)
        return 2
    except ModuleNotFoundError as error:
        if (error.name or "exposure").split(".")[0] == "exposure":
            raise
        print(
            f"Refused: {error.name} is not installed; expected the libraries for grids, sites and sheets. "
            'Run: pip install "driving-rain-exposure[page]"',
            file=sys.stderr,
        )
        return 2
    except BrokenPipeError:  # who reads has enough
        _drop_output()
        return 0
    except OSError as error:
        _drop_output()
        where = f" {error.filename}" if error.filename else ""
        print(
            f"Refused: cannot read or write{where} ({error.strerror or error}); expected files one may read, and a "
            "folder, disk or screen with room. Check names, rights and room.",
            file=sys.stderr,
        )
        return 2
    return code if isinstance(code, int) else 0


def with_negatives_joined(given: list[str]) -> list[str]:
    """The arguments with a value that starts with a minus and a figure joined to its option, which it would look like.

    Examples
    --------
    >>> with_negatives_joined(["site", "era5.nc", "--at", "-45,170", "--json", "-"])
    ['site', 'era5.nc', '--at=-45,170', '--json', '-']
    """
    joined: list[str] = []
    for one in given:
        before = joined[-1] if joined else ""
        if _NEGATIVE.match(one) and before.startswith("--") and "=" not in before and len(before) > 2:
            joined[-1] = f"{before}={one}"
        else:
            joined.append(one)
    return joined


def _refuse_empty(options: argparse.Namespace) -> None:
    """Stop at an argument that is given and says nothing, as a script's empty variable gives it."""
    from exposure.checks import RefusalError

    for name, value in vars(options).items():
        if value == "" or (isinstance(value, list) and "" in value):
            raise RefusalError(
                f"the argument {name.replace('_', '-')} is empty",
                "a name or a value",
                "Give one, or leave the argument out.",
            )


def _drop_output() -> None:
    """Send what standard output still holds nowhere, so that closing it raises nothing more."""
    try:
        sys.stdout.flush()
    except OSError:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
