"""A record with two dozen large photos, in a process of its own: see papers.py beside it."""

import resource
import time

import django
from django.template import engines

from installs.photos.prepare import prepare
from shop.papers import render
from tests.factories.pictures import camera_exif, noisy, saved

PHOTOS = 24
TWELVE_MILLION = (4000, 3000)
RECORD = """{% extends "paper/base.html" %}{% block title %}Record{% endblock %}{% block content %}
{% include "paper/parts/facts.html" %}{% include "paper/parts/photos.html" %}{% endblock %}"""


def print_record() -> None:
    """Take the photos in, print them, and say what both took."""
    django.setup()
    data = saved(noisy(TWELVE_MILLION), "JPEG", quality=90, exif=camera_exif())
    start = time.perf_counter()
    kept = [prepare(data) for _ in range(PHOTOS)]
    taken_in = time.perf_counter() - start
    template = engines["django"].from_string(RECORD)
    render.get_template = lambda *_: template  # type: ignore[assignment]
    photos = [
        {"picture": f"p{number}", "width": ready.width, "height": ready.height,
         "caption": f"Photo {number}", "marks": [{"shape": "arrow", "from": [0, 0], "to": [1, 1]}]}
        for number, ready in enumerate(kept)
    ]  # fmt: skip
    # Each picture differs by a byte, so that the maker of PDFs cannot print one for all.
    pictures = {f"p{n}": ready.jpeg + bytes([n]) for n, ready in enumerate(kept)}
    facts = [{"label": f"Value {number}", "value": number} for number in range(80)]
    start = time.perf_counter()
    pdf = render.render(
        "record",
        {"photos": photos, "facts": facts, "record": "record 1"},
        size=render.PaperSize.A4,
        pictures=pictures,
    )
    printed = time.perf_counter() - start
    assert len(pdf) > PHOTOS * 50_000
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(taken_in, printed, peak)


if __name__ == "__main__":
    print_record()
