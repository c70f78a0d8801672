"""What the README promises runs: its Python block, and every command it names."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from exposure.cli import COMMANDS, main

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")


def test_the_python_block_runs_as_printed_in_any_folder(tmp_path):
    blocks = re.findall(r"```python\n(.*?)```", README, flags=re.S)
    assert blocks
    done = subprocess.run(
        [sys.executable, "-c", "\n".join(blocks)], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.split()[-1] in ("sheltered", "moderate", "severe", "very", "severe")


def test_every_function_of_the_flow_is_one_of_the_package():
    import exposure

    flow = README.split("## How a number comes about")[1].split("```")[1]
    named = set(re.findall(r"\b[a-z]+_[a-z]+\b", flow))
    assert {"open_climate", "survey_building", "wall_pressures"} <= named
    for name in named:
        assert callable(getattr(exposure, name)), name
        assert name in exposure.__all__


@pytest.mark.parametrize("name", sorted(set(re.findall(r"`?exposure ([a-z]+)\b", README)) & set(COMMANDS)))
def test_each_command_it_names_explains_itself(name, capsys):
    with pytest.raises(SystemExit) as ended:
        main([name, "--help"])
    assert ended.value.code == 0
    assert capsys.readouterr().out.startswith(f"usage: exposure {name}")


def test_it_names_every_command():
    # only where it is written as a command: at the start of a line of a listing or in a code span
    named = set(re.findall(r"(?:^|[`/])exposure ([a-z]+)\b", README, flags=re.MULTILINE))
    assert named == set(COMMANDS)


def test_the_first_command_installs_what_its_demo_needs():
    """Every library the demo asks for stands, by its extras, in what the README's first command installs."""
    import re
    import tomllib

    from exposure.cli.demo_command import NEEDED

    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    asked, found = ["page"], set()
    while asked:
        for line in project["optional-dependencies"][asked.pop()]:
            name, extras = re.match(r"([\w-]+)(?:\[([\w,]+)\])?", line).groups()
            asked += extras.split(",") if name == project["name"] else []
            found.add(name)
    assert set(NEEDED) <= found
