"""Fixtures every test folder shares."""

from pathlib import Path

import pytest

SHARED_DATA = Path(__file__).parents[2] / "shared" / "data"


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """Folder of real files too large or not free to keep here; tests that need it skip without it."""
    if not SHARED_DATA.is_dir():
        pytest.skip(f"extra data folder {SHARED_DATA.name} is not beside this checkout")
    return SHARED_DATA
