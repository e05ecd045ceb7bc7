"""Reading a PDF back with other libraries than the one that wrote it."""

import os
import shutil
import subprocess
from io import BytesIO
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader


def words_of_pdf(pdf: bytes) -> str:
    """Return the text as it would be copied, on one line."""
    pages = PdfReader(BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def painted(pdf: bytes, folder: Path, dots_an_inch: int = 150) -> list[Image.Image]:
    """Return the pages as a printer would put them on paper, in grey."""
    if shutil.which("pdftoppm") is None:
        sentence = "pdftoppm is not here: apt-get install poppler-utils"
        if os.environ.get("REQUIRE_SERVICES") == "1":
            pytest.fail(sentence)
        pytest.skip(sentence)
    (folder / "paper.pdf").write_bytes(pdf)
    subprocess.run(
        ["pdftoppm", "-r", str(dots_an_inch), "-gray", "-png", "paper.pdf", "page"],
        cwd=folder,
        check=True,
    )
    pages = []
    for file in sorted(folder.glob("page-*.png")):
        with Image.open(file) as page:
            pages.append(page.copy())
    return pages


def codes_on(page: Image.Image) -> list[str]:
    """Return what a scanner reads in the QR codes of a page."""
    return [found.text for found in zxingcpp.read_barcodes(page)]
