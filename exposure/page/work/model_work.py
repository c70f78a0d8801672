"""The process that reads a house from a building model for the page: started for one file, ended when it is stopped.

Derived from the designer's question which elevation is worst: a house that was drawn once is not described again. A model
comes from anywhere and its library is large, so it is read where it can do the page no harm. Run as
``python -m exposure.page.work.model_work FOLDER``; the folder holds ``request.json`` and the model it names, and gets
``words.json`` or ``refused.json``. See :mod:`exposure.page.work.beside`.
"""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from exposure.in_place import filled_in_place
from exposure.page.work.own_process import answer_request, live_with_parent

WORDS = "words.json"


def main(folder: Path) -> None:
    """Read the house that the folder's request asks for."""
    answer_request(folder, read_model, expected="a model of one house")


def read_model(request: dict[str, Any], folder: Path, tell: Callable[[float, str], None]) -> None:
    """The words of the building ``request["which"]`` in the model ``request["model"]``, any where that is empty."""
    from exposure.wall.building_file import read_words

    tell(0.1, "Looking for its outer walls.")
    words = read_words(folder / request["model"], name=request["which"] or None)
    with filled_in_place(folder / WORDS) as part:
        part.write_text(json.dumps(words, ensure_ascii=False, default=str), "utf-8")


if __name__ == "__main__":
    live_with_parent(main)
