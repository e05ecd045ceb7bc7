"""Celery only wakes: without it, or with its broker down, pages go on and nothing is lost."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
import redis
from celery.schedules import crontab
from pytest_django import Settings

from shop.celery import app, wake
from shop.management import servers

DELIVER = "shop.tasks.deliver_waiting"


def test_beat_calls_tasks_that_exist_at_the_times_of_the_settings() -> None:
    app.loader.import_default_modules()

    plan = {entry["task"]: entry["schedule"] for entry in app.conf.beat_schedule.values()}

    assert plan == {
        "shop.tasks.due_tick": 300,
        DELIVER: 60,
        "shop.tasks.judge_by_new_limits": 300,
        "shop.tasks.rejudge_nightly": crontab(hour=9, minute=0),
        "shop.tasks.sweep_photos": crontab(hour=9, minute=40),
    }
    assert set(plan) <= set(app.tasks)
    assert app.conf.timezone == "UTC"


def test_without_a_broker_nobody_is_woken(
    settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent = []
    monkeypatch.setattr(app, "send_task", lambda *a, **k: sent.append(a))

    settings.REDIS_URL = ""
    wake(DELIVER)
    assert sent == []

    settings.REDIS_URL = "redis://localhost:1/0"
    wake(DELIVER)
    assert sent == [(DELIVER,)]


def test_a_broker_that_is_down_costs_a_line_in_the_log_and_no_time(tmp_path: Path) -> None:
    code = (
        "import time; from shop.celery import wake; began = time.monotonic(); "
        f"wake({DELIVER!r}); print(time.monotonic() - began)"
    )
    environment = {
        "PATH": os.environ["PATH"],
        "DJANGO_SETTINGS_MODULE": "shop.settings",
        "PULLPIN_VAR": str(tmp_path),
        "REDIS_URL": f"redis://127.0.0.1:{servers.free_port()}/0",
    }

    done = subprocess.run(
        [sys.executable, "-c", f"import django; django.setup(); {code}"],
        cwd=Path(__file__).resolve().parents[3],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )

    assert float(done.stdout) < 3
    assert "the next round will find its work" in done.stderr


def test_a_private_redis_answers_and_is_gone_afterwards() -> None:
    with servers.redis() as url:
        if url is None:
            pytest.skip("Redis is not installed.")
        assert redis.Redis.from_url(url).ping()

    with pytest.raises(redis.ConnectionError):
        redis.Redis.from_url(url).ping()
