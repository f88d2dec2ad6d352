"""Is this process alive, and can it do its work?

``/healthz`` touches nothing: it answers as long as the process does. ``/readyz`` asks the database, the
broker, the migrations and the login role, and says of each whether it is well.
"""

from collections.abc import Callable
from http import HTTPStatus

import redis
import structlog
from django.db import Error as DatabaseError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_safe

from api import environment
from api.accounts.login_role import login_faults

_BROKER_TIMEOUT_SECONDS = 2.0

_log = structlog.get_logger("api.health")


@require_safe
def healthz(_: HttpRequest) -> JsonResponse:
    return JsonResponse({"status": "alive"})


@require_safe
def readyz(_: HttpRequest) -> JsonResponse:
    found = {name: _well(name, check) for name, check in _CHECKS.items()}
    ready = all(found.values())
    return JsonResponse(
        {
            "status": "ready" if ready else "not ready",
            "checks": {name: "ok" if well else "failed" for name, well in found.items()},
        },
        status=HTTPStatus.OK if ready else HTTPStatus.SERVICE_UNAVAILABLE,
    )


def _well(name: str, check: Callable[[], list[str]]) -> bool:
    """Reasons go to the log alone: the address is open to anybody, and they name hosts, roles and tables."""
    try:
        faults = check()
    except (DatabaseError, redis.RedisError) as error:
        faults = [str(error)]
    if faults:
        _log.warning("not ready", check=name, faults=faults)
    return not faults


def _database() -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return []


def _broker() -> list[str]:
    client = redis.Redis.from_url(
        environment.read().redis_url,
        socket_timeout=_BROKER_TIMEOUT_SECONDS,
        socket_connect_timeout=_BROKER_TIMEOUT_SECONDS,
    )
    with client:
        client.ping()
    return []


def _migrations() -> list[str]:
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return [f"{migration.app_label}.{migration.name} is not applied" for migration, _ in plan]


_CHECKS: dict[str, Callable[[], list[str]]] = {
    "database": _database,
    "broker": _broker,
    "migrations": _migrations,
    "login_role": login_faults,
}
