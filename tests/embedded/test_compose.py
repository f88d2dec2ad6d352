"""Does the file for containers name servers, settings and commands that there are? No container runs here."""

import os
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from api import environment
from api.embedded import binaries, cluster, postgres, roles
from api.embedded.account import server_account
from api.environment import database_url
from tests.embedded.conftest import WAIT_SECONDS, rows

ROOT = Path(__file__).resolve().parents[2]
FILE = ROOT / "docker-compose.yml"
SECRETS = {
    "POSTGRES_PASSWORD": "administrator",
    "OWNER_PASSWORD": "ownerpassword",
    "APP_PASSWORD": "apppassword",
    "BROKER_PASSWORD": "brokerpassword",
    "SECRET_KEY": "k3y-" * 13,
    "ALLOWED_HOSTS": "quotes.example.org",
}


@cache
def services() -> dict[str, dict[str, Any]]:
    document = yaml.safe_load(FILE.read_text(encoding="utf-8"))
    found: dict[str, dict[str, Any]] = document["services"]
    return found


def filled(text: str) -> str:
    """What the container is given: variables of the file .env put in, and each $$ one dollar."""
    for name, value in SECRETS.items():
        text = text.replace("${" + name + "}", value)
        while "${" + name + ":?" in text:
            before, _, rest = text.partition("${" + name + ":?")
            text = before + value + rest.partition("}")[2]
    return text.replace("${METRICS_TOKEN:-}", "").replace("$$", "$")


def test_the_file_has_the_form_that_its_specification_asks_for() -> None:
    program = Path(sys.executable).with_name("check-jsonschema")
    done = subprocess.run(
        [program, "--builtin-schema", "vendor.compose-spec", FILE], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize("name", ["roles-script", "migrate", "web", "worker", "beat"])
def test_every_service_of_ours_is_given_settings_that_can_be_read(name: str, tmp_path: Path) -> None:
    variables = {key: filled(value) for key, value in services()[name]["environment"].items()}
    if "PROMETHEUS_MULTIPROC_DIR" in variables:
        assert f"{variables['PROMETHEUS_MULTIPROC_DIR']}:mode=1777" in services()[name]["tmpfs"]
        variables["PROMETHEUS_MULTIPROC_DIR"] = str(tmp_path)
    assert set(variables) <= set(environment._PARSERS)
    found = environment.read(variables)
    # Only what migrates is told the owner's address.
    assert (found.database_owner_url is not None) == (name == "migrate")
    assert found.database_url.user == roles.APP


def test_only_the_web_listens_and_on_loopback_alone() -> None:
    ports = {name: service["ports"] for name, service in services().items() if "ports" in service}
    assert list(ports) == ["web"]
    assert all(port.startswith("127.0.0.1:") for port in ports["web"])


def test_the_programs_that_our_services_start_are_in_the_runtime_lock() -> None:
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    started = {services()[name]["command"][0] for name in ("web", "worker", "beat")}
    assert started == {"granian", "celery"}
    assert all(f"\n{program}==" in "\n" + lock for program in started)


@pytest.mark.skipif(sys.platform != "linux", reason="the folder of the embedded server's programs is Linux's")
def test_the_roles_step_makes_logins_with_the_given_passwords(folder: Path) -> None:
    place = folder / "postgres"
    with postgres.start(place, test_profile=True) as server:
        step = services()["roles"]
        (folder / "roles.sql").write_text(roles.script())
        given = {name: filled(value) for name, value in step["environment"].items()}
        socket = database_url(server.owner_url).host
        given |= {"PGHOST": socket, "PGPASSWORD": cluster.read_passwords(place).superuser, "PSQLRC": "/dev/null"}
        path = f"{binaries.postgres_binaries(server_account())}:{os.environ['PATH']}"
        shell, *flags, script = (filled(word) for word in step["command"])
        for _ in range(2):
            done = subprocess.run(
                [shell, *flags, script], cwd=folder, env={"PATH": path, **given}, capture_output=True, text=True,
                timeout=WAIT_SECONDS, check=False,
            )  # fmt: skip
            assert done.returncode == 0, done.stderr
        for role, password in ((roles.OWNER, "ownerpassword"), (roles.APP, "apppassword")):
            url = f"postgresql://{role}:{password}@/{roles.DATABASE}?host={socket}"
            assert rows(url, "SELECT current_user") == [(role,)]
