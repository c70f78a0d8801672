"""``exposure page``: the screens, served on this machine."""

import argparse
import os
import socket
import sys
import threading
import time
import tomllib
import webbrowser
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
    parser.add_argument(
        "--no-browser", action="store_true", help="open no browser; without a terminal none is opened either"
    )


def reach_words(address: str, port: int, here: str) -> str:
    """How a phone on the same network reaches the page.

    Parameters
    ----------
    address
        Where the page listens.
    here
        This machine's own address on its network; empty without one.

    Examples
    --------
    >>> reach_words("localhost", 8501, "192.0.2.7")
    'For a phone on the same network start it with --address 192.0.2.7; the phone then opens http://192.0.2.7:8501.'
    >>> reach_words("0.0.0.0", 8501, "192.0.2.7")
    'A phone on the same network opens http://192.0.2.7:8501.'
    """
    if address in ("localhost", "127.0.0.1", "::1"):
        if not here:
            return "This machine is on no network: take the file from Take to site to a phone."
        return f"For a phone on the same network start it with --address {here}; the phone then opens http://{here}:{port}."
    shown = here if address in ("0.0.0.0", "::") and here else address
    return f"A phone on the same network opens http://{shown}:{port}."


def own_address() -> str:
    """Address of this machine on its network, or an empty text; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(
                ("192.0.2.1", 9)
            )  # an address kept for examples: the way there is looked up, no more
            return str(asked.getsockname()[0])
        except OSError:
            return ""


def open_when_up(address: str, port: int) -> None:
    """Open a browser as soon as the page answers."""

    def wait() -> None:
        for _ in range(600):
            with socket.socket() as knock:
                if knock.connect_ex((address, port)) == 0:
                    webbrowser.open(f"http://{address}:{port}")
                    return
            time.sleep(0.1)

    threading.Thread(target=wait, name="open-browser", daemon=True).start()


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
        "Reading what the page needs; the first time the invented place is made, some twenty seconds.",
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
        print(reach_words(options.address, port, own_address()), flush=True)
        if not options.no_browser and sys.stdout.isatty():
            open_when_up("localhost" if options.address in ("0.0.0.0", "::") else options.address, port)
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
