"""A house of one's own as a folder: what is promised is there, opens, says it is invented, and replaces nothing read."""

import contextlib
import csv
import io
import json
import re
import xml.etree.ElementTree as ET

import geopandas
import pytest
from quick_rings import rings_at_once

from exposure.cli import main
from exposure.cli.example_command import EXAMPLES, example_text
from exposure.paper import pdf
from exposure.paper.pdf import sheet_pdf

NAME = "<img src=x onerror=alert(1)>"


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """The example house, with another name, through both commands as the README says it: its folder, and what was said.

    Of the sheets the PDF has the first alone: `test_sheet_print.py` prints all of nine houses.
    """
    at = tmp_path_factory.mktemp("own")
    assert main(["example", "--out", str(at / "mine")]) == 0
    house = at / "mine" / "house.toml"
    words = house.read_text("utf-8").replace("Wrack House", NAME)
    words = re.sub(
        r"^(roof|ridge_height|eaves|overhang) = .*\n", "", words, flags=re.MULTILINE
    )  # to be doubted
    house.write_text(words, "utf-8")
    given = [str(house), "--openings", str(at / "mine" / "openings.csv")]
    with (
        rings_at_once(),
        pytest.MonkeyPatch.context() as patch,
        contextlib.redirect_stdout(io.StringIO()) as said,
    ):
        patch.setattr(
            pdf, "sheet_pdf", lambda html: sheet_pdf(f"{html.partition('</section>')[0]}</section>")
        )
        assert main(["sheets", *given, "--climate", "invented", "--out", str(at / "out")]) == 0
    return at / "out", said.getvalue()


@pytest.fixture(scope="module")
def folder(run):
    return run[0]


def test_every_file_linked_on_the_index_is_there_and_none_is_forgotten(folder):
    page = (folder / "index.html").read_text("utf-8")
    linked = set(re.findall(r'href="([^"]+)"', page))
    for name in linked:
        assert (folder / name).is_file(), name
    there = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert there - linked == {"index.html", "drawings/drawings.json"}
    assert {
        "sheets.html",
        "annex.html",
        "site.html",
        "invented_schedule.csv",
        "invented_take_off.csv",
        "building.gpkg",
    } <= linked


def test_everything_made_of_invented_weather_says_so(folder):
    for name in ("index.html", "sheets.html", "site.html", "details.json", "exposure.json"):
        assert "invented" in (folder / name).read_text("utf-8").lower(), name
    assert not list(folder.glob("schedule.csv")) + list(folder.glob("take_off.csv"))  # their names say it
    for path in (folder / "drawings").glob("*.svg"):
        assert "invented" in path.read_text("utf-8").lower(), path.name


def test_the_files_agree_on_the_worst_elevation(folder):
    told = json.loads((folder / "exposure.json").read_text("utf-8"))
    hardest = max(told["elevations"], key=lambda one: one["wall_spell_index"])
    walls = geopandas.read_file(folder / "building.gpkg", layer="elevations")
    assert hardest["name"] == walls.loc[walls["wall_spell_index"].idxmax(), "name"] == told["worst"]
    assert f"the {told['worst']} elevation" in (folder / "index.html").read_text("utf-8")


def test_openings_of_the_list_reach_the_take_off(folder):
    # by hand: 3 x 0.9 x 1.2 + 1.0 x 2.1 + 2 x (2 x 1.2 x 1.2) + 2 x 0.6 x 0.9 = 12.18 m2
    rows = list(csv.DictReader(io.StringIO((folder / "invented_take_off.csv").read_text("utf-8-sig"))))
    column = next(name for name in rows[0] if name.startswith("openings"))
    assert [row[column] for row in rows if row["elevation"] == "all"] == ["12.2"]


def test_no_doubt_is_told_twice(run):
    doubts = [line for line in run[1].splitlines() if line.startswith("Doubt: ")]
    assert len(doubts) == len(set(doubts)) > 3
    (roof,) = [line for line in doubts if "The roof's form is not told" in line]
    first = re.search(r"the ([\w-]+) elevation", roof)[1]
    others = set(re.split(", | and ", re.search(r"nor is it told of (.*)\.", roof)[1]))
    assert {first, *others} <= {"south-west", "north-east", "south-east", "north-west"}
    assert others
    assert first not in others


def test_drawings_are_sound_xml(folder):
    pictures = list((folder / "drawings").glob("*.svg"))
    assert pictures
    for path in pictures:
        ET.fromstring(path.read_text("utf-8"))


def test_examples_never_replace_what_a_user_wrote(tmp_path, capsys):
    mine = tmp_path / "house.toml"
    mine.write_text("name = 'mine'\n")
    assert main(["example", "--out", str(tmp_path)]) == 2
    assert "holds house.toml already" in capsys.readouterr().err
    assert mine.read_text() == "name = 'mine'\n"
    assert [path.name for path in tmp_path.iterdir()] == ["house.toml"]


def test_a_name_from_the_file_is_no_markup_on_the_index(folder):
    page = (folder / "index.html").read_text("utf-8")
    assert "<img" not in page
    assert "&lt;img" in page


def test_every_example_is_invented_and_says_what_it_is_for():
    for name in set(EXAMPLES) - {"openings.csv"}:  # a table without comments
        assert "nvented" in example_text(name), name
