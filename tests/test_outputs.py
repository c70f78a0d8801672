"""What a command writes never takes the place of what it reads, told before any work."""

import argparse
import os
import re
from importlib import import_module
from pathlib import Path

import pytest

from exposure.cli import COMMANDS, main

WORDS = "a text that must stay as it is"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Files that look like nothing a command could read: if it began to work it would say so instead."""
    for name in ("record.csv", "house.toml", "openings.csv", "rule.toml", "house.gpkg", "sites.csv"):
        (tmp_path / name).write_text(WORDS)
    (tmp_path / "grids" / "index.zarr").mkdir(parents=True)
    (tmp_path / "grids" / "index.zarr" / ".zgroup").write_text(WORDS)
    (tmp_path / "grids" / "2001.nc").write_text(WORDS)
    (tmp_path / "link.csv").symlink_to("record.csv")
    os.link(tmp_path / "record.csv", tmp_path / "twin.csv")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def everything(folder):
    return {
        str(path.relative_to(folder)): path.read_text()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.mark.parametrize(
    "given",
    [
        "site record.csv --json record.csv",
        "site record.csv --json ./grids/../record.csv",
        "site record.csv --json link.csv",
        "site link.csv --json record.csv",
        "site record.csv --json twin.csv",
        "inspect record.csv --json record.csv",
        "inspect x.csv --against record.csv --json record.csv",
        "details house.toml --climate record.csv --csv house.toml",
        "details house.toml --climate record.csv --openings openings.csv --csv openings.csv",
        "details house.toml --climate record.csv --rule rule.toml --json rule.toml",
        "details house.toml --climate record.csv --take-off record.csv",
        "building house.gpkg --climate record.csv --geopackage house.gpkg",
        "building house.toml --climate record.csv --beside x.csv --beside sites.csv --json sites.csv",
        "building house.toml --climate grids/index.zarr --json grids/index.zarr/house.json",
        "compare sites.csv --climate grids --out grids/ranking",
        "map grids/index.zarr --out grids",
        "map grids --out grids --netcdf",
        "map grids --out grids/result",
        "map grids/*.nc --out grids --netcdf",
    ],
)
def test_an_output_over_inside_or_around_an_input_is_refused(folder, capsys, given):
    before = everything(folder)
    assert main(given.split()) == 2
    told = capsys.readouterr().err
    assert "written over or into" in told or "read by the same pattern" in told
    assert everything(folder) == before


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("details house.toml --climate record.csv --json a.txt --csv ./a.txt", "name one file"),
        ("site record.csv --json nowhere/a.json", "no such folder"),
        ("site record.csv --json grids", "cannot be written"),
    ],
)
def test_outputs_that_cannot_all_be_written_are_told_before_any_work(folder, capsys, given, words):
    assert main(given.split()) == 2
    assert words in capsys.readouterr().err


def test_a_plain_file_where_the_result_belongs_stays(folder, capsys):
    (folder / "out").mkdir()
    (folder / "out" / "index.zarr").write_text(WORDS)
    assert main(["map", "grids/index.zarr", "--out", "out"]) == 2
    assert "is a file" in capsys.readouterr().err
    assert (folder / "out" / "index.zarr").read_text() == WORDS


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_that_names_a_file_says_whether_it_is_read_or_written(name):
    module = import_module(f"exposure.cli.{name}_command")
    parser = argparse.ArgumentParser()
    module.add_arguments(parser)
    kept_apart = {*module.READS, *module.WRITES}
    for action in parser._actions:  # argparse has no public list
        shown = str(action.metavar or action.dest)
        if re.search("FILE|FOLDER|RASTER|SOURCE|STATION|SITES|grid", shown) and action.dest != "cache":
            assert action.dest in kept_apart, f"{action.dest} of {name}"


def test_layers_of_others_stay_in_a_geopackage(tmp_path):
    geopandas = pytest.importorskip("geopandas")
    from exposure.export.geopackage import layers_in_place

    points = geopandas.GeoDataFrame(
        {"who": ["surveyor"]}, geometry=geopandas.points_from_xy([1], [2]), crs=4326
    )
    target = tmp_path / "site.gpkg"
    points.to_file(target, layer="trees", driver="GPKG")
    points.to_file(target, layer="elevations", driver="GPKG")
    with layers_in_place(target) as part:
        points.assign(who="us").to_file(part, layer="elevations", driver="GPKG")
    assert geopandas.read_file(target, layer="trees")["who"].tolist() == ["surveyor"]
    assert geopandas.read_file(target, layer="elevations")["who"].tolist() == ["us"]
    assert [path.name for path in tmp_path.iterdir()] == ["site.gpkg"]


def test_a_file_that_is_no_geopackage_is_not_replaced_by_one(tmp_path):
    from exposure.checks import RefusalError
    from exposure.export.geopackage import layers_in_place

    target = Path(tmp_path, "house.csv")
    target.write_text(WORDS)
    with pytest.raises(RefusalError, match="no GeoPackage"), layers_in_place(target):
        pass
    assert target.read_text() == WORDS
