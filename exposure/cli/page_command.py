"""``exposure page``: the screens, served on this machine."""

import argparse
import os
import socket
import tomllib
from contextlib import redirect_stdout
from importlib.resources import as_file, files
from importlib.util import find_spec
from pathlib import Path

from exposure.checks import RefusalError, check_between

USUAL_PORT = 8501
READS = ()
WRITES: dict[str, tuple[str, ...]] = {}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument(
        "--port",
        type=int,
        default=USUAL_PORT,
        help="number of the address the browser asks for (default %(default)s)",
    )
    parser.add_argument(
        "--address",
        default="localhost",
        help="who may open it: localhost (only this machine, the default) or an address of this machine",
    )


def page_flags(options: dict, *, prefix: str = "") -> list[str]:
    """The settings of ``options.toml`` as flags for Streamlit's own command.

    Examples
    --------
    >>> page_flags({"theme": {"light": {"textColor": "#1B2228"}}, "server": {"headless": True}})
    ['--theme.light.textColor=#1B2228', '--server.headless=true']
    """
    flags = []
    for name, value in options.items():
        if isinstance(value, dict):
            flags += page_flags(value, prefix=f"{prefix}{name}.")
        else:
            text = str(value).lower() if isinstance(value, bool) else str(value)
            flags.append(f"--{prefix}{name}={text}")
    return flags


def page_call(*, start: str, port: int, address: str) -> list[str]:
    """What Streamlit's own command is given to serve the page from the file ``start``."""
    options = tomllib.loads(files("exposure.page").joinpath("options.toml").read_text("utf-8"))
    return [
        "run",
        start,
        *page_flags(options),
        f"--server.port={port}",
        f"--server.address={address}",
        f"--browser.serverAddress={address}",
        "--logger.level=warning",
    ]


def run(options: argparse.Namespace) -> None:
    """Serve the page until it is stopped."""
    port = int(check_between(options.port, "port", 1024, 65535, ""))
    missing = [
        name for name in ("streamlit", "streamlit_folium", "geopandas", "jinja2") if find_spec(name) is None
    ]
    if missing:
        raise RefusalError(
            f"{', '.join(missing)} cannot be found",
            "the libraries of the page",
            'Install them with: pip install "driving-rain-exposure[page]"',
        )
    check_free(options.address, port)
    print(
        "Reading what the page needs; the first time the invented place is made, about half a minute.",
        flush=True,
    )
    from streamlit.logger import set_log_level
    from streamlit.web.cli import main as streamlit_command

    set_log_level(
        "error"
    )  # the warm-up runs before there is a server, which Streamlit warns of at every step
    from exposure.page.warm_up import warm_up

    warm_up()
    with as_file(files("exposure.page").joinpath("start.py")) as start:
        print(f"The page is at http://{options.address}:{port} (Ctrl-C ends it).", flush=True)
        call = page_call(start=str(start), port=port, address=options.address)
        with (
            Path(os.devnull).open("w") as nowhere,
            redirect_stdout(nowhere),
        ):  # Streamlit's own greeting; warnings and faults go to stderr
            streamlit_command(call, standalone_mode=False)


def check_free(address: str, port: int) -> None:
    """Stop unless the port can be listened on."""
    try:
        with socket.socket(socket.AF_INET6 if ":" in address else socket.AF_INET) as trial:
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            trial.bind((address, port))
    except OSError as error:
        raise RefusalError(
            f"{address}:{port} cannot be listened on ({error.strerror or error})",
            "a free port and an address of this machine",
            "Choose another --port, or end what uses this one.",
        ) from error
