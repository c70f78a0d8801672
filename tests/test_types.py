"""The types that papers are written from are real: a misspelt attribute is found before anything runs."""

import re
from dataclasses import is_dataclass
from importlib import import_module
from pathlib import Path

import pytest

import exposure

CORE = Path(exposure.__file__).parent
DOMAIN = ("details", "assessment", "schedule", "check", "step", "one", "line", "elevation", "index")


def test_no_domain_object_is_handed_about_without_its_type():
    loose = re.compile(rf"\b({'|'.join(DOMAIN)}): (?:Any|object)\b|Sequence\[Any\]")
    found = [
        f"{path.name}: {hit[0]}"
        for room in ("paper", "draw", "export", "map")
        for path in sorted((CORE / room).glob("*.py"))
        for hit in loose.finditer(path.read_text("utf-8"))
    ]
    assert found == []


@pytest.mark.parametrize("room", ["detail", "assess"])
def test_what_a_room_hands_on_cannot_be_changed_afterwards(room):
    loose = [
        f"{path.stem}.{name}"
        for path in sorted((CORE / room).glob("*.py"))
        for name, one in vars(import_module(f"exposure.{room}.{path.stem}")).items()
        if isinstance(one, type)
        and is_dataclass(one)
        and not one.__dataclass_params__.frozen
        and name[0] != "_"
    ]
    assert loose == []
