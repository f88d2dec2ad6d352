"""The checks that need no running service: layers, lint, format and types."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BIN = Path(sys.executable).parent


@pytest.mark.parametrize(
    "command",
    [
        ("lint-imports",),
        ("ruff", "check", "."),
        ("ruff", "format", "--check", "."),
        ("mypy",),
    ],
    ids="-".join,
)
def test_the_tree_passes(command: tuple[str, ...]) -> None:
    ran = subprocess.run([str(BIN / command[0]), *command[1:]], cwd=ROOT, capture_output=True, text=True, check=False)

    assert ran.returncode == 0, f"{' '.join(command)}\n{ran.stdout[-6000:]}\n{ran.stderr[-2000:]}"
