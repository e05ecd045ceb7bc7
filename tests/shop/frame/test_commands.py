"""The commands around Django: lock files, the test command's sum, gates, benches, ports."""

import re
import socket
from pathlib import Path

import pytest

from shop.management import benches, environment, gates, servers, serving, suite

ROOT = Path(__file__).resolve().parents[3]


@pytest.mark.parametrize("name", ["requirements.lock", "requirements-dev.lock"])
def test_a_lock_file_pins_every_package_by_hash_and_names_no_host(name: str) -> None:
    text = (ROOT / name).read_text()

    entries = re.findall(r"^([^\s#].*)$", text, re.MULTILINE)
    assert len(entries) > 50
    for entry in entries:
        assert re.fullmatch(r"[a-z0-9.-]+==[\w.]+(?: ; [^/]+)? \\", entry), entry
    assert text.count("--hash=sha256:") >= len(entries)
    assert "://" not in text
    assert "--index" not in text


def test_the_running_interpreter_is_measured_against_the_lock(tmp_path: Path) -> None:
    lock = tmp_path / "lock"
    lock.write_text(f"pytest=={pytest.__version__} \\\n    --hash=sha256:00\n")
    assert environment._has_everything(lock)

    lock.write_text("pytest==0.1 \\\n    --hash=sha256:00\n")
    assert not environment._has_everything(lock)

    lock.write_text("no-such-package==1.0 \\\n    --hash=sha256:00\n")
    assert not environment._has_everything(lock)


def run_round(total: suite.Total, tmp_path: Path, body: str, *arguments: str) -> None:
    file = tmp_path / "test_it.py"
    file.write_text(body)
    plain = ["-p", "no:django", "-p", "no:randomly", "-c", "/dev/null", str(file)]
    suite._round(total, "a round", [*plain, *arguments], [], {"PATH": "/usr/bin:/bin"})


def test_the_rounds_are_added_up(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    total = suite.Total()

    run_round(total, tmp_path, "def test_a(): pass\ndef test_b(): pass\n")
    run_round(total, tmp_path, "def test_a(): pass\ndef test_b(): assert 0\n")
    run_round(total, tmp_path, "def test_a(): pass\n", "-k", "nothing")

    assert suite._close(total, [], must=False) == 1
    lines = capsys.readouterr().out.splitlines()
    assert lines[-2] == "Failed: a round."
    assert re.fullmatch(r"1 failed, 3 passed in \d+s", lines[-1])


def test_a_file_that_cannot_be_read_is_a_failure(tmp_path: Path) -> None:
    total = suite.Total()

    run_round(total, tmp_path, "import no_such_module\n")

    assert suite._close(total, [], must=False) == 1
    assert total.counts["error"] == 1


@pytest.mark.parametrize(("must", "code"), [(False, 0), (True, 1)])
def test_a_missing_service_is_told_and_counts_where_required(
    must: bool, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    total = suite.Total()
    total.counts["passed"] = 3

    assert suite._close(total, ["Chromium"], must=must) == code
    said = capsys.readouterr().out
    assert "Not run: what needs Chromium, which is not here." in said
    assert "apt-get install chromium" in said


def test_no_test_at_all_is_a_failure() -> None:
    assert suite._close(suite.Total(), [], must=False) == 1


def test_inline_code_in_templates_is_found(tmp_path: Path) -> None:
    folder = tmp_path / "templates" / "desk"
    folder.mkdir(parents=True)
    (folder / "good.html").write_text(
        '<script src="/a.js"></script>\n<p class="style" data-on="1">style = none</p>\n'
    )
    (folder / "bad.html").write_text(
        '<p\n style="x">\n<script>\nrun()</script>\n<a onclick = "x">\n<style>\n'
    )

    found = [line.split(": ")[0] for line in gates.inline_code(tmp_path)]

    assert found == [f"templates/desk/bad.html:{number}" for number in (2, 3, 5, 6)]


def test_benches_are_found_by_name_and_their_figures_checked(tmp_path: Path) -> None:
    file = tmp_path / "speed.py"
    file.write_text(
        "from os.path import join as bench_imported\n"
        "def bench_good(database):\n"
        "    return [{'name': 'ratio', 'value': 1.4, 'unit': '', 'limit': 1.3, 'scale': 10}]\n"
        "def bench_bad(database):\n"
        "    return [{'name': 'ratio'}]\n"
    )
    (tmp_path / "_helper.py").write_text("raise RuntimeError\n")
    (only,) = benches.bench_files(tmp_path)

    good, bad = benches.benches_in(only)

    (figure,) = benches.figures_of(good, "sqlite")
    assert figure["database"] == "sqlite"
    assert benches.is_over(figure)
    assert not benches.is_over(figure | {"limit": 1.4})
    assert not benches.is_over(figure | {"limit": None})
    with pytest.raises(ValueError, match="A figure has the fields"):
        list(benches.figures_of(bad, "sqlite"))


def test_a_busy_port_is_left_for_the_next_one(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]

        chosen = serving.pick_port(port)

    assert port < chosen < port + serving.PORTS_TRIED
    assert capsys.readouterr().out == f"Port {port} is taken, using {chosen}.\n"


def test_no_free_port_is_told_in_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        monkeypatch.setattr(serving, "PORTS_TRIED", 1)

        with pytest.raises(serving.PortsTakenError, match="choose another one with --port"):
            serving.pick_port(taken.getsockname()[1])


def test_waiting_for_a_silent_port_ends(tmp_path: Path) -> None:
    with pytest.raises(TimeoutError, match="Nothing listens"):
        servers.wait_for_port(servers.free_port(), seconds=0.2)
