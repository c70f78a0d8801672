"""Modules may import only what lies upstream of them, and the quick start stays quick."""

import ast
import re
import subprocess
import sys
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

ORDER = [
    "terms",
    "checks",
    "doubts",
    "in_place",
    "clock",
    "tables",
    "figures",
    "climate",
    "invented",
    "rain",
    "site",
    "wall",
    "detail",
    "junction",
    "assess",
    "region",
    "district",
    "draw",
    "map",
    "export",
    "paper",
    "page",
    "cli",
]
CLIMATE_ROOMS = ["grid", "quality", "formats", "services"]
ROOT = Path(__file__).parents[1] / "exposure"
HEAVY = {"numba", "rasterio", "geopandas", "folium", "streamlit", "dask", "zarr", "shapely", "ezdxf"}


@cache
def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text("utf-8"))


def stage(dotted: str) -> int:
    return ORDER.index(dotted.split(".")[1])


def imported_names(node: ast.AST) -> list[str]:
    if isinstance(node, ast.ImportFrom):
        return [node.module or ""]
    return [alias.name for alias in node.names] if isinstance(node, ast.Import) else []


def test_imports_follow_the_data():
    checked = 0
    for path in sorted(ROOT.rglob("*.py")):
        module = ".".join(["exposure", *path.relative_to(ROOT).with_suffix("").parts]).removesuffix(
            ".__init__"
        )
        if module == "exposure":
            continue
        for node in ast.walk(parsed(path)):
            for name in imported_names(node):
                if name.startswith("exposure."):
                    assert stage(name) <= stage(module), f"{module} imports {name}"
                    checked += 1
    assert checked > 5


def test_no_modules_import_one_another_in_a_ring():
    paths = [path for path in ROOT.rglob("*.py") if path.name != "__init__.py"]
    modules = {".".join(["exposure", *path.relative_to(ROOT).with_suffix("").parts]): path for path in paths}
    needs = {
        module: {
            wanted
            for node in ast.walk(parsed(path))
            for name in imported_names(node)
            for wanted in (name, *(f"{name}.{one.name}" for one in getattr(node, "names", [])))
            if wanted in modules
        }
        for module, path in modules.items()
    }
    assert len(needs) > 250
    assert needs["exposure.cli.details_command"]
    TopologicalSorter(needs).prepare()  # raises CycleError, naming the ring


def test_a_room_of_climate_imports_only_from_the_rooms_before_it():
    checked = 0
    for place, room in enumerate(CLIMATE_ROOMS):
        for path in (ROOT / "climate" / room).glob("*.py"):
            for node in ast.walk(parsed(path)):
                for name in imported_names(node):
                    if name.startswith("exposure.climate.") and name.split(".")[2] in CLIMATE_ROOMS:
                        assert CLIMATE_ROOMS.index(name.split(".")[2]) <= place, f"{path.name} imports {name}"
                        checked += 1
    assert checked > 20
    assert {one.parent.name for one in (ROOT / "climate").glob("*/__init__.py")} == set(CLIMATE_ROOMS)


def test_importing_the_package_loads_no_heavy_library():
    code = "import sys, exposure, exposure.rain.index; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert "exposure" in loaded.split()
    assert not HEAVY & set(loaded.split())


def test_importing_the_name_alone_loads_no_library_and_looks_no_version_up():
    code = "import sys, exposure; print(*sys.modules); print(exposure.__version__)"
    loaded, version = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.splitlines()
    assert {one for one in loaded.split() if one.startswith("exposure")} == {"exposure"}
    assert not {"numpy", "pandas", "xarray", "importlib.metadata"} & set(loaded.split())
    assert version[0].isdigit()


ROOMS = ["", "work", "choices", "forms", "parts", "views", "warm_up", "start"]  # of the page; "": its pieces


def test_rooms_of_the_page_follow_each_other():
    def room(dotted: str) -> int:
        name = dotted.split(".")[2]
        return ROOMS.index(name) if name in ROOMS else 0

    page, seen = ROOT / "page", set()
    for path in sorted(page.rglob("*.py")):
        module = ".".join(["exposure", "page", *path.relative_to(page).with_suffix("").parts])
        for node in ast.walk(parsed(path)):
            for name in imported_names(node):
                if name.startswith("exposure.page."):
                    assert room(name) <= room(module), f"{module} imports {name}"
                    seen.add(room(name))
    assert len(seen) > 4


def test_one_module_alone_reads_and_writes_what_a_session_holds():
    """Elsewhere each thing held is a name with its type (`held.py`), never a bare string."""
    found = {
        path.relative_to(ROOT).as_posix()
        for path in ROOT.rglob("*.py")
        for node in ast.walk(parsed(path))
        if "session_state" in (getattr(node, "attr", ""), getattr(node, "id", ""), *(imported_names(node)))
    }
    assert found == {"page/held.py"}


def test_every_file_that_the_text_for_developers_names_is_there():
    text = (ROOT.parent / "DEVELOPERS.md").read_text("utf-8")
    named = set(re.findall(r"`((?:[a-z_]+/)*[a-z_]+\.(?:py|toml))", text))
    there = [path.as_posix() for path in ROOT.parent.rglob("*.*") if path.suffix in (".py", ".toml")]
    assert len(named) > 60
    assert not [one for one in named if not any(path.endswith(f"/{one}") for path in there)]


def defines(path: Path, name: str) -> bool:
    """Whether a module has that function, class or constant."""
    return any(
        name == getattr(node, "name", "")
        or name
        in [getattr(one, "id", "") for one in getattr(node, "targets", [getattr(node, "target", None)])]
        for node in parsed(path).body
    )


def test_every_function_that_the_text_for_developers_names_is_where_it_says():
    text = (ROOT.parent / "DEVELOPERS.md").read_text("utf-8")
    named = re.findall(r"`([a-z_/]+\.py): (\w+)", text)
    assert len(named) > 30
    for file, name in named:
        found = [path for path in ROOT.rglob("*.py") if f"/{path.as_posix()}".endswith(f"/{file}")]
        assert any(defines(path, name) for path in found), f"{file}: {name}"


def test_an_hours_rain_passes_each_folder_once():
    """The stations as DEVELOPERS tells them, each in the folder named before it, in the order of the flow."""
    text = (ROOT.parent / "DEVELOPERS.md").read_text("utf-8")
    walk = text.partition("### One hour's rain")[2].partition("###")[0]
    folders, stations = [], 0
    for folder, file, name in re.findall(r"`(?:([a-z_]+)/)?(?:[a-z]+/)*([a-z_]+\.py)?(?:: (\w+))?`", walk):
        if folder in ORDER and folders[-1:] != [folder]:
            folders.append(folder)
        if file and name:
            within = [path for path in (ROOT / folders[-1]).rglob(file) if defines(path, name)]
            assert within, f"{folders[-1]}/{file}: {name}"
            stations += 1
    assert stations >= 12
    assert folders == [one for one in ORDER if one in folders]
    assert len(folders) >= 9


MOST_PARAMETERS = 7
INTERFACES = {  # their keyword arguments are what a user of the library, or a command's options, may say
    "open_climate", "assess_file", "detail_building", "assess_district", "compare_sites", "index_region",
}  # fmt: skip
KERNELS = {
    "advance",
    "close",
    "account_variable",
}  # of rain/streaming_kernel.py: compiled, which takes arrays alone


def parameters(function: ast.FunctionDef | ast.AsyncFunctionDef) -> list[str]:
    told = function.args
    extra = [one for one in (told.vararg, told.kwarg) if one is not None]
    named = [*told.posonlyargs, *told.args, *told.kwonlyargs, *extra]
    return [one.arg for one in named if one.arg not in ("self", "cls")]


def test_no_function_takes_more_than_seven_parameters_but_the_interfaces():
    long = {}
    for path in sorted(ROOT.rglob("*.py")):
        for node in ast.walk(parsed(path)):
            is_function = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
            if is_function and len(parameters(node)) > MOST_PARAMETERS:
                long[node.name] = (path.relative_to(ROOT).as_posix(), node)
    assert set(long) == INTERFACES | KERNELS
    assert {long[name][0] for name in KERNELS} == {"rain/streaming_kernel.py"}
    for name in INTERFACES:  # nothing but what the work is about may be told by its place
        assert len(long[name][1].args.args) <= 3, name


def test_no_function_is_longer_than_120_lines():
    """With its docstring: what is longer has parts with names of their own."""
    long = [
        (path.relative_to(ROOT).as_posix(), node.name)
        for path in sorted(ROOT.rglob("*.py"))
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.FunctionDef) and node.end_lineno - node.lineno >= 120
    ]
    assert long == []
