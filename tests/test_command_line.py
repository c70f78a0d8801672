"""The frame of every command: what a shell, a script or a hasty hand may do to it, told in one line."""

import contextlib
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import pytest

from exposure.cli import COMMANDS, leave_unread, main

AIRPORT = Path(__file__).parents[1] / "data_open" / "airport_weather_2013.csv.gz"
COLUMNS = "time=time_hour,wind_speed=wind_speed [mph],wind_from_direction=wind_dir [degree],rain=precip [in]"
SITE = ["site", str(AIRPORT), "--where", "origin=EWR", "--columns", COLUMNS]
CALL = [sys.executable, "-m", "exposure.cli"]
# a shell that starts a command in the background has it ignore Ctrl-C; here it must hear it
# says when the command has begun: a signal before that would end the interpreter itself
LISTENING = """
import signal, sys
from exposure.cli import main
signal.signal(signal.SIGINT, signal.default_int_handler)
class Begun:
    def find_spec(self, name, path=None, target=None):
        if name == "exposure.checks":
            print("go", flush=True)
sys.meta_path.insert(0, Begun())
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.parametrize(
    "given",
    [
        ["site", ""],
        [*SITE, "--json", ""],
        [*SITE, "--at="],
        [*SITE, "--columns", ""],
        ["inspect", str(AIRPORT), "--json", ""],
        ["sources", "--json", ""],
        ["sources", ""],
        ["building", "house.toml", "--climate", ""],
        ["building", "house.toml", "--climate", "x.csv", "--beside", ""],
        ["details", "house.toml", "--climate", "x.csv", "--csv", ""],
        ["demo", ""],
        ["demo", "--house", ""],
        ["map", "invented", "--out", ""],
        ["page", "--address", ""],
    ],
)
def test_an_empty_argument_is_refused_and_nothing_is_computed(capsys, tmp_path, monkeypatch, given):
    monkeypatch.chdir(tmp_path)
    assert main(given) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("Refused: the argument ")
    assert "is empty; expected " in told.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("library", "given"),
    [
        ("pyproj", ["building", "house.toml", "--climate", "x.csv"]),
        ("shapely", ["details", "house.toml", "--climate", "x.csv"]),
        ("numba", ["map", "grid.zarr", "--out", "out"]),
    ],
)
def test_a_library_that_is_not_installed_is_told_with_its_cure(tmp_path, library, given):
    code = (
        f"import sys; sys.modules[{library!r}] = None; from exposure.cli import main; "
        f"sys.exit(main({given!r}))"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=tmp_path, timeout=120
    )
    assert (ended.returncode, ended.stdout) == (2, "")
    assert ended.stderr.startswith(f"Refused: {library} is not installed; expected ")
    assert "driving-rain-exposure[page]" in ended.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_module_of_our_own_that_is_missing_is_a_fault_and_not_hidden(monkeypatch):
    monkeypatch.setitem(sys.modules, "exposure.cli.sources_command", None)
    with pytest.raises(ModuleNotFoundError):
        main(["sources"])


@pytest.mark.parametrize("after", [0.0, 0.2, 0.6])
def test_ctrl_c_before_the_libraries_are_read_and_after(tmp_path, after):
    kept = tmp_path / "site.json"
    kept.write_text("before")
    call = [sys.executable, "-c", LISTENING, "site", "-", "--json", str(kept)]
    process = subprocess.Popen(
        call, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert process.stdout.readline() == "go\n"
    time.sleep(after)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert (process.returncode, out) == (130, "")
    assert err == "Stopped; nothing was left half-written.\n"
    assert kept.read_text() == "before"
    assert [path.name for path in tmp_path.iterdir()] == ["site.json"]


def test_a_closed_screen_is_no_fault(tmp_path):
    kept = tmp_path / "site.json"
    words = " ".join(f"'{word}'" for word in [*CALL, *SITE, "--json", str(kept)])
    ended = subprocess.run(["sh", "-c", f"{words} >&-"], stderr=subprocess.PIPE, timeout=120)
    assert (ended.returncode, ended.stderr) == (0, b"")
    assert kept.read_bytes().startswith(b"{")
    ended = subprocess.run(["sh", "-c", f"{words} >&- 2>&-"], timeout=120)
    assert ended.returncode == 0


def test_a_screen_without_the_sign_for_degrees_and_a_name_without_letters(tmp_path):
    odd = tmp_path / os.fsdecode(b"record \xff.csv.gz")  # bytes that spell no letter
    odd.write_bytes(AIRPORT.read_bytes())
    plain = {**os.environ, "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    for settings in (plain, {**os.environ, "PYTHONIOENCODING": "utf-8"}):
        ended = subprocess.run(
            [*CALL, "site", odd, *SITE[2:]], capture_output=True, env=settings, timeout=120
        )
        assert (ended.returncode, ended.stderr) == (0, b"")
        assert b"(north-east)" in ended.stdout


def test_names_steer_no_terminal(tmp_path, capsys):
    odd = tmp_path / "re\x1b[2Jcord\u202e.csv.gz"
    odd.write_bytes(AIRPORT.read_bytes())
    for given in (["site", str(odd), *SITE[2:]], ["inspect", str(odd), *SITE[2:]], ["site", str(odd) + "x"]):
        main(given)
        told = capsys.readouterr()
        assert "[2Jcord" in told.out + told.err
        assert not {"\x1b", "\u202e"} & set(told.out + told.err)


def test_a_rain_rule_nobody_knows_is_refused_for_every_format(capsys):
    assert main([*SITE, "--rain-rule", "x"]) == 2
    assert "the rain rule is 'x'; expected one of hour, since 00 UTC, rate" in capsys.readouterr().err


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_the_words_of_help_need_no_heavy_library(name):
    code = (
        "import sys\nfrom exposure.cli import main\n"
        f"try:\n    main([{name!r}, '--help'])\nexcept SystemExit:\n    pass\n"
        "print('loaded', *sys.modules)"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ended.stdout.startswith(f"usage: exposure {name}")
    loaded = set(ended.stdout.rpartition("loaded")[2].split())
    assert not loaded & {"numba", "rasterio", "geopandas", "shapely", "pyproj", "streamlit", "zarr", "dask"}
    if name in (
        "demo",
        "district",
        "example",
        "fetch",
        "page",
        "site",
    ):  # which ask for no figures before they run
        assert not loaded & {"numpy", "pandas", "xarray"}


@pytest.mark.parametrize("given", [["--help"], ["--version"], []])
def test_the_list_of_commands_is_shown_before_any_command_or_table_library_is_read(given):
    code = (
        "import sys\nfrom exposure.cli import main\n"
        f"try:\n    main({given!r})\nexcept SystemExit:\n    pass\n"
        "print('loaded', *sys.modules)"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(ended.stdout.rpartition("loaded")[2].split())
    assert "exposure.cli" in loaded
    assert not loaded & {"numpy", "pandas", "xarray", "cftime", "tqdm"}
    assert not {one for one in loaded if one.endswith("_command")}
    ours = {one.split(".")[1] for one in loaded if one.startswith("exposure.")}
    assert ours == {"cli", "checks", "in_place"}


def test_what_goes_to_a_program_is_utf8_whatever_letters_the_screen_knows():
    code = "from exposure.cli.output import write_text; write_text('-', 'W\\u00e4schefleet 5 L/m\\u00b2')"
    poor = {**os.environ, "PYTHONIOENCODING": "ascii:replace"}
    ended = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, env=poor, timeout=60, check=True
    )
    assert ended.stdout.decode("utf-8") == "W\u00e4schefleet 5 L/m\u00b2"


def test_no_command_turns_a_line_around(capsys):
    marks = "\u200f\u202e\x1b[2J"
    for given in (["sources", f"x{marks}"], ["site", "x.csv", f"y{marks}"], [f"x{marks}"]):
        with contextlib.suppress(SystemExit):
            main(given)
        told = capsys.readouterr()
        assert not set("\u200f\u202e\x1b") & set(told.out + told.err)


def loaded_by(given: list[str]) -> set[str]:
    """What a process of its own has read once the command ``given`` has run in it."""
    code = (
        "import sys; from exposure.cli import main; code = main(); "
        "print('loaded', code, *(name for name, module in sys.modules.items() if module is not None))"
    )
    ended = subprocess.run([sys.executable, "-c", code, *given], capture_output=True, text=True, check=True)
    code, *names = ended.stdout.rpartition("loaded ")[2].split()
    assert code == "0"
    return set(names)


def test_a_command_reads_no_library_of_arrays_that_it_never_makes():
    loaded = loaded_by(["site", str(AIRPORT), *SITE[2:]])
    assert {"xarray", "pandas"} <= loaded
    assert not {one.split(".")[0] for one in loaded} & {"dask", "pint", "scipy", "sparse", "numba", "shapely"}


@pytest.mark.parametrize(
    ("given", "unread"), [(["site"], True), (["map", "--dask=x"], False), (["page"], False), ([], True)]
)
def test_only_a_cluster_and_the_page_may_make_arrays_of_other_libraries(monkeypatch, given, unread):
    modules = {}
    monkeypatch.setattr("exposure.cli.sys", SimpleNamespace(modules=modules))
    leave_unread(given)
    assert ("dask" in modules) == unread
    assert not any(modules.values())


def test_a_library_of_arrays_that_is_read_already_stays(monkeypatch):
    modules = {"dask": sys}
    monkeypatch.setattr("exposure.cli.sys", SimpleNamespace(modules=modules))
    leave_unread(["site"])
    assert modules["dask"] is sys
