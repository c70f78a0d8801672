"""A refusal names the argument its cure speaks of; the terminal and the page each say what that is called there."""

import ast
import inspect
import json
import pickle
import re
from pathlib import Path

import pytest

import exposure
from exposure.checks import RefusalError
from exposure.cli import main, source_arguments
from exposure.cli.option_names import OPTIONS
from exposure.climate.request import Request
from exposure.district import assess_district
from exposure.page.field_names import FIELDS
from exposure.page.markup import refusal as refusal_on_page

CORE = Path(exposure.__file__).parent
OPTION = re.compile(r"(?<![\w!-])--[a-z]")
SOURCES = sorted(path for path in CORE.rglob("*.py") if path.relative_to(CORE).parts[0] != "cli")
FOREIGN = b"when;rain_total;wind;dir\n2020-01-01;1;2;3\n"  # a table whose columns are called otherwise


def texts_of(path: Path) -> list[str]:
    tree = ast.parse(path.read_text("utf-8"))
    return [
        one.value for one in ast.walk(tree) if isinstance(one, ast.Constant) and isinstance(one.value, str)
    ]


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(CORE)))
def test_no_text_of_the_core_speaks_of_an_option_of_the_terminal(path):
    assert [text for text in texts_of(path) if OPTION.search(text)] == []


def test_no_table_speaks_of_an_option_of_the_terminal():
    tables = sorted(CORE.rglob("*.toml"))
    assert len(tables) > 20
    assert [path.name for path in tables if OPTION.search(path.read_text("utf-8"))] == []


def parameters_named() -> set[str]:
    """The names that stand as ``parameter=`` in calls of the core."""
    found = set()
    for path in SOURCES:
        for one in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(one, ast.keyword) and one.arg == "parameter":
                found |= {
                    leaf.value
                    for leaf in ast.walk(one.value)
                    if isinstance(leaf, ast.Constant) and isinstance(leaf.value, str)
                }
    return found - {""}


def test_every_parameter_a_refusal_names_has_its_option():
    named = parameters_named()
    assert named >= {"columns", "where", "format", "missing", "at"}
    assert named <= set(OPTIONS)
    told = Path(inspect.getfile(source_arguments)).parent
    declared = "".join(path.read_text("utf-8") for path in told.glob("*.py"))
    for option in OPTIONS.values():
        assert f'"{option.split()[0]}"' in declared


def test_every_field_is_an_argument_that_can_be_told():
    of_a_town = {*inspect.signature(assess_district).parameters, "areas", "squares"}
    assert set(FIELDS) <= {*Request.__dataclass_fields__, "at", *of_a_town}


def test_the_terminal_adds_its_option(tmp_path, capsys):
    path = tmp_path / "foreign.csv"
    path.write_bytes(FOREIGN.replace(b";", b","))
    assert main(["inspect", str(path)]) == 2
    said = capsys.readouterr().err
    assert said.count("--columns") == 1
    assert "Field" not in said


def test_the_page_adds_its_field():
    refused = RefusalError("two stations", "one", "Pick one: STN=...", parameter="where")
    shown = refusal_on_page(refused)
    assert "Field: Rows." in shown
    assert "--" not in shown


def test_a_refusal_keeps_its_parameter_on_its_way_between_processes():
    refused = RefusalError("a", "b", "c.", parameter="where")
    for again in (pickle.loads(pickle.dumps(refused)), RefusalError(**json.loads(json.dumps(vars(refused))))):
        assert (again.came, again.expected, again.cure, again.parameter) == ("a", "b", "c.", "where")
