"""The demo from the terminal: what it writes, what it says, and that it needs no network."""

import csv
import io
import json
import re
import socket
from pathlib import Path

import pytest

from exposure.cli import demo_command, main
from exposure.invented import invented_place
from exposure.paper import building_folder

pytestmark = pytest.mark.slow  # two houses end to end


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """Two houses run once, with every connection refused."""
    invented_place(progress=False)
    folder = tmp_path_factory.mktemp("demo") / "out"
    patch = pytest.MonkeyPatch()

    def refuse(*words, **more):
        raise AssertionError("the demo asked for a connection")

    patch.setattr(socket.socket, "connect", refuse)
    patch.setattr(socket, "create_connection", refuse)
    said = io.StringIO()
    patch.setattr("sys.stdout", said)
    first = iter([building_folder.pdf_at_hand()])  # the other house as on a machine without the PDF writer
    patch.setattr(building_folder, "pdf_at_hand", lambda: next(first, False))
    try:
        code = main(["demo", str(folder), "--house", "Wrack House", "--house", "4 Quay Terrace"])
    finally:
        patch.undo()
    return code, folder, said.getvalue()


def test_everything_a_user_takes_away_is_there(demo):
    code, folder, _ = demo
    assert code == 0
    assert {path.name for path in folder.iterdir()} == {
        "map.html", "houses.csv", "summary.txt", "wrack-house", "4-quay-terrace",
    }  # fmt: skip
    for house in ("wrack-house", "4-quay-terrace"):
        assert {path.name for path in (folder / house).iterdir()} - {"sheets.pdf"} == {  # the PDF writer is optional
            "index.html", "sheets.html", "annex.html", "site.html", "invented_schedule.csv", "invented_take_off.csv",
            "details.json", "exposure.json", "building.gpkg", "drawings", "register.json",
        }  # fmt: skip


def test_the_worst_elevation_comes_first_and_agrees_with_the_tables(demo):
    _, folder, said = demo
    rows = list(csv.DictReader(io.StringIO((folder / "houses.csv").read_text("utf-8"))))
    worst = max(rows, key=lambda row: float(row["spell_index_L_m2"]))
    first = said.splitlines()[0]
    assert first.startswith(
        f"Worst: the {worst['elevation']} elevation of {worst['house']}, {worst['place']}"
    )
    assert f"{float(worst['spell_index_L_m2']):.0f} L/m2" in first
    assert worst["class"] in first
    told = json.loads((folder / "wrack-house" / "exposure.json").read_text("utf-8"))
    assert len(told["elevations"]) == 6
    found = {row["elevation"]: row for row in rows if row["house"] == "Wrack House"}
    for one in told["elevations"]:
        assert found[one["name"]]["class"] == one["class"]
        assert found[one["name"]]["class_in_words"] == one["class_in_words"]  # with every other it could be
        assert float(found[one["name"]]["spell_index_L_m2"]) == pytest.approx(
            one["wall_spell_index"], abs=0.06
        )
    assert re.search(r"L/m2 \(\d+ to \d+\)", first)  # a figure never stands without its band


def test_every_paper_says_that_it_is_invented(demo):
    _, folder, said = demo
    assert "do not build from it" in said
    for path in folder.rglob("*"):
        if path.suffix in (".html", ".csv", ".txt", ".json"):
            assert "nvented" in path.name + path.read_text("utf-8"), path.name


def test_cautions_are_said(demo):
    _, folder, said = demo
    assert "local codes" in said
    assert "local codes" in (folder / "map.html").read_text("utf-8").lower()


def test_the_map_carries_the_invented_names_and_no_address(demo):
    words = (demo[1] / "map.html").read_text("utf-8")
    for name in ("Quern Bay", "Pellin Ness", "Ashlar Top"):
        assert name in words
    assert "tile.openstreetmap" not in words


def test_an_unknown_house_and_a_bad_folder_are_refused(tmp_path, capsys):
    (tmp_path / "file").write_text("")
    assert main(["demo", str(tmp_path / "file")]) == 2
    assert main(["demo", str(tmp_path / "new"), "--house", "Nowhere Hall"]) == 2
    words = capsys.readouterr().err
    assert words.count("Refused:") == 2
    assert "Wrack House" in words


def test_a_bare_install_is_told_what_to_install(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(demo_command, "find_spec", lambda name: None if name == "rasterio" else object())
    assert main(["demo", str(tmp_path / "new")]) == 2
    words = capsys.readouterr().err
    assert "rasterio not installed" in words
    assert "pip install" in words
    assert not (tmp_path / "new").exists()


def test_the_picture_of_the_readme_is_the_one_drawn_today():
    from exposure.cli.demo_command import _assess
    from exposure.draw.assessment_pictures import plan_of
    from exposure.draw.drawing import description

    details, _ = _assess(invented_place(progress=False), "Wrack House")
    kept = Path(__file__).parents[1] / "data_open" / "pictures" / "wrack_house_plan.svg"
    # the figures in words; the strokes may differ in a last decimal from one machine to the next
    assert description(plan_of(details.assessment)) == description(kept.read_text("utf-8"))
