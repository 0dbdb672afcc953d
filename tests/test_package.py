"""The wheel alone, in an environment of its own and outside the checkout, does the main job."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(folder), str(ROOT)],
        check=True,
        timeout=600,
    )
    (built,) = folder.glob("session_logbook-*.whl")
    return built


def test_the_wheel_carries_types_migrations_and_the_sample(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    assert "logbook/py.typed" in names
    assert "logbook/sample_session/session.toml" in names
    assert "logbook/migrations/env.py" in names
    assert any(name.startswith("logbook/migrations/versions/") for name in names)
    assert {name.partition("/")[0].partition("-")[0] for name in names} == {
        "logbook",
        "session_logbook",
    }


def test_the_main_job_runs_from_the_wheel(wheel: Path, tmp_path: Path) -> None:
    environment = tmp_path / "env"
    venv.create(environment, with_pip=False)
    python = environment / ("Scripts" if os.name == "nt" else "bin") / "python"
    pip = [sys.executable, "-m", "pip", "--python", str(python), "install", "-q", "--no-compile"]
    subprocess.run([*pip, "--no-deps", str(wheel)], check=True, timeout=900)
    # The libraries are those of the tests; that the declared ones suffice, README's first
    # command shows (test_readme.py). What stands in the environment itself comes before them.
    inside = subprocess.run(
        [python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
        check=True,
        capture_output=True,
        text=True,
    ).stdout.strip()
    (Path(inside) / "libraries.pth").write_text(f"{sysconfig.get_path('purelib')}\n")
    logbook = python.with_name("logbook")
    settings = {
        "PATH": os.environ["PATH"],
        "HOME": str(tmp_path),
        "LOGBOOK_DB": str(tmp_path / "log.db"),
        "NO_COLOR": "1",
    }

    def run(*words: str | Path) -> str:
        done = subprocess.run(
            words, cwd=tmp_path, env=settings, capture_output=True, text=True, timeout=300
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    where = run(python, "-c", "import logbook; print(logbook.__file__)").strip()
    assert Path(where).is_relative_to(environment)
    sample = Path(where).parent / "sample_session"
    run(logbook, "load", sample)
    run(logbook, "import", sample)
    title = run(logbook, "song", "list").splitlines()[-1].strip()
    assert title
    assert "(concert)" in run(logbook, "tour")

    # Another project may have a package of migrations at its top too, before or after ours.
    decoy = Path(where).parent.parent / "migrations"
    (decoy / "versions").mkdir(parents=True)
    for name in ("__init__.py", "env.py"):
        (decoy / name).write_text("raise SystemExit('the decoy ran')\n")
    for number in (1, 2):
        run(logbook, "--db", tmp_path / f"other{number}.db", "song", "add", "Low Water")
        shutil.rmtree(decoy, ignore_errors=True)
