"""Every open data file has a card beside it, with its licence and the checksum of the file as it lies here."""

import hashlib
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[1] / "data_open"
OWN = {".md", ".py"}
FILES = sorted(path for path in FOLDER.rglob("*") if path.is_file() and path.suffix not in OWN)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_the_card_names_licence_and_checksum(path):
    name = path.name.split(".")[0]
    card = (path.parent / f"{name}.md").read_text("utf-8").lower()
    assert "licen" in card or "invented" in card
    if "invented" not in card:
        assert hashlib.sha256(path.read_bytes()).hexdigest() in card


def test_there_is_open_data():
    assert FILES
