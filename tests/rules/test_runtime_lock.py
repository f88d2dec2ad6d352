"""The service runs with what `requirements.lock` installs, also where tests have brought more.

A library may import what it does not declare. Here everything that only `requirements-dev.lock` brings is hidden from a process
of its own, which then imports what the web, the worker and the demo import.
"""

import re
import subprocess
import sys
from importlib.metadata import packages_distributions
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
_PINNED = re.compile(r"^([A-Za-z0-9._-]+)==", re.MULTILINE)
# `api.wsgi` itself looks at the database when it is imported; what it serves is `api.urls`.
_SERVICE = (
    "django.core.wsgi",
    "api.urls",
    "api.celery",
    "celery.bin.worker",
    "kombu.transport.redis",
    "redis",
    "granian.server",
    "psycopg_pool",
    "drf_spectacular_sidecar",
    "api.management.commands.demo",
)
_HIDING = """
import sys
hidden = set(sys.argv[1].split(","))
class Hide:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in hidden:
            raise ModuleNotFoundError(f"No module named {name!r} in requirements.lock", name=name)
sys.meta_path.insert(0, Hide())
import os
os.environ["DJANGO_SETTINGS_MODULE"] = "api.settings"
import importlib, django
import api.celery
django.setup()
for name in sys.argv[2:]:
    importlib.import_module(name)
"""


def _normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def _pinned(lock: str) -> set[str]:
    return {_normal(name) for name in _PINNED.findall((ROOT / lock).read_text(encoding="utf-8"))}


def _hidden() -> list[str]:
    """Top-level modules that no distribution of the runtime lock brings."""
    runtime, known = _pinned("requirements.lock"), _pinned("requirements-dev.lock")
    return [
        module
        for module, brought_by in packages_distributions().items()
        if not {_normal(name) for name in brought_by} & runtime and {_normal(name) for name in brought_by} & known
    ]


def test_what_the_service_imports_is_in_the_runtime_lock() -> None:
    ran = subprocess.run(
        [sys.executable, "-c", _HIDING, ",".join(_hidden()), *_SERVICE], cwd=ROOT, capture_output=True, text=True, check=False
    )

    assert ran.returncode == 0, ran.stderr[-2000:]


def test_something_is_hidden_so_that_the_test_above_can_fail() -> None:
    assert {"pytest", "hypothesis", "mypy", "shapely"} <= set(_hidden())


def test_the_dev_lock_brings_all_that_the_runtime_lock_does() -> None:
    assert _pinned("requirements.lock") <= _pinned("requirements-dev.lock")
