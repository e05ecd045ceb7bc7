"""What the machine must bring: found, installed where allowed, or asked for in a sentence."""

import ctypes
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

FONT_FOLDERS = ("/usr/share/fonts", "/usr/local/share/fonts", "/Library/Fonts", "~/.fonts")
PANGO = {
    "linux": ("libpango-1.0.so.0", "libpangoft2-1.0.so.0"),
    "darwin": ("libpango-1.0.dylib", "libpangoft2-1.0.dylib"),
}
# One font of each package that together draw any script and the small pictures of phones.
SCRIPTS = ("NotoSansArabic-*", "NotoSansCJK-*", "NotoColorEmoji*")
APT = (
    "libpango-1.0-0",
    "libpangoft2-1.0-0",
    "libharfbuzz-subset0",
    "fonts-dejavu-core",
    "fonts-noto-core",
    "fonts-noto-cjk",
    "fonts-noto-color-emoji",
)
BREW_LIBRARIES = ("/opt/homebrew/lib", "/usr/local/lib")
CHROMIUM = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
)


def apt_install(packages: Sequence[str]) -> bool:
    """Install Debian packages where that is allowed (root, apt-get); tell whether it worked."""
    apt = shutil.which("apt-get")
    if apt is None or os.geteuid() != 0:
        return False
    print(f"Installing with apt-get: {' '.join(packages)} …", file=sys.stderr, flush=True)
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    return all(
        subprocess.run(
            [apt, "-qq", *arguments],
            check=False,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
        ).returncode
        == 0
        for arguments in (["update"], ["install", "-y", "--no-install-recommends", *packages])
    )


def has_pango() -> bool:
    """Tell whether the text library of the PDF maker can be loaded."""
    return all(_loads(name) for name in PANGO.get(sys.platform, ()))


def has_fonts() -> bool:
    """Tell whether any outline font is installed: without one, PDF pages are blank."""
    return any(any(folder.rglob("*.[to]tf")) for folder in _font_folders())


def has_every_script() -> bool:
    """Tell whether names in any script can be printed: without their font they come as boxes."""
    if sys.platform == "darwin":  # the system brings fonts for all of them
        return True
    return all(any(any(folder.rglob(name)) for folder in _font_folders()) for name in SCRIPTS)


def _font_folders() -> list[Path]:
    folders = (Path(folder).expanduser() for folder in FONT_FOLDERS)
    return [folder for folder in folders if folder.is_dir()]


def missing_for_documents() -> str:
    """Return "", or one sentence that says what PDF documents still need and how to get it.

    On Debian as root it is installed instead of asked for.
    """
    lacking = [
        word
        for word, there in (
            ("the library Pango", has_pango()),
            ("a font", has_fonts()),
            ("the fonts of every script", has_every_script()),
        )
        if not there
    ]
    if not lacking or apt_install(APT):
        return ""
    how = (
        "brew install pango"
        if sys.platform == "darwin"
        else f"sudo apt-get install {' '.join(APT)}"
    )
    return f"PDF documents need {', '.join(lacking)}, which this machine lacks: `{how}`."


def chromium() -> str | None:
    """Return the path of an installed Chromium, or None."""
    return next((path for name in CHROMIUM if (path := shutil.which(name))), None)


def _loads(name: str) -> bool:
    for candidate in (name, *(f"{folder}/{name}" for folder in BREW_LIBRARIES)):
        try:
            ctypes.CDLL(candidate)
        except OSError:
            continue
        return True
    return False
