"""A folder of photos of its own for each test."""

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def folder(settings: Any, tmp_path: Path) -> Path:
    """Return the folder that photos are kept in."""
    settings.PHOTOS_DIR = tmp_path / "photos"
    return settings.PHOTOS_DIR
