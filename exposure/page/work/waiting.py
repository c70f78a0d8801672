"""A process that has read its libraries and waits for work, so that a reader's file is read at once.

Derived from the designer's minute: half of what a small record takes is the reading of libraries. Run as
``python -m exposure.page.work.waiting``: one line on its standard input, as JSON, names the module to run and its folder;
without one it ends with whoever started it. It does one piece of work and ends, as a process started for it would.
"""

import importlib
import json
import signal
import sys

HEAD = "# kind: gauge\ntime,wind_speed [m/s],wind_from_direction [degree],rain [mm]\n"


def main() -> None:
    """Read the libraries, wait for a line, and do what it says."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the server's
    read_libraries()
    line = sys.stdin.readline()
    if not line:  # the server is gone, or never needed it
        return
    from exposure.page.work.own_process import live_with_parent

    module, folder = json.loads(line)
    sys.argv[1:] = [folder]
    live_with_parent(importlib.import_module(module).main)


def read_libraries() -> None:
    """Read what a record needs, the parts that come with its first file too."""
    importlib.import_module("h5netcdf")
    importlib.import_module("exposure.page.work.reading")
    importlib.import_module("exposure.rain.index")
    from exposure.climate.opening import open_climate

    made_up = HEAD + "".join(f"2020-01-01T{hour:02}:00Z,5,240,0.2\n" for hour in range(24))
    open_climate(made_up.encode())


if __name__ == "__main__":
    main()
