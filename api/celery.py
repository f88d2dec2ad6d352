"""How do tasks reach the workers? Everything that publishes or runs one imports this module first."""

import os

from celery import Celery
from celery.schedules import crontab
from celery.signals import worker_init

from api import environment

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.settings")

# A task is a chunk of at most a minute. The broker hands a task out again when nobody has acknowledged it for
# VISIBILITY: it must be longer than any task may live, or the task runs twice.
SOFT_LIMIT_SECONDS = 60
HARD_LIMIT_SECONDS = 120
VISIBILITY_SECONDS = 600
# How often lost chunks are looked for.
LOOK_SECONDS = 30

app = Celery("coach-roof-quotes", broker=environment.read().redis_url)
app.conf.update(
    accept_content=["json"],
    task_serializer="json",
    result_serializer="json",
    task_ignore_result=True,
    enable_utc=True,
    timezone="UTC",
    # A killed worker's task is run again: every task is idempotent in the transaction of its effect.
    task_acks_late=True,
    task_reject_on_worker_lost=True,
    worker_prefetch_multiplier=1,
    task_soft_time_limit=SOFT_LIMIT_SECONDS,
    task_time_limit=HARD_LIMIT_SECONDS,
    worker_soft_shutdown_timeout=20,
    broker_connection_retry_on_startup=True,
    broker_transport_options={
        "visibility_timeout": VISIBILITY_SECONDS,
        # By default the broker library looks for lost tasks every 10 s and acts on every tenth look, so a
        # killed worker's task would come back a minute and a half after its visibility has run out.
        "unacked_restore_interval": 2,
        "unacked_restore_throttle": 1,
        # Without it, whoever publishes waits for ever for a broker whose machine is gone.
        "socket_connect_timeout": 5,
    },
    # Published by one `celery beat`. An entry that no worker took before the next one is due is of no more use.
    beat_schedule={
        "publish lost chunks again": {
            "task": "costbase.tasks.republish_lost_chunks",
            "schedule": LOOK_SECONDS,
            "options": {"expires": LOOK_SECONDS},
        },
        "forget runs that are long over": {
            "task": "costbase.tasks.forget_runs",
            "schedule": crontab(hour=4, minute=40),
            "options": {"expires": 3600},
        },
        # Hourly, because it is night in each shop at another hour.
        "begin the work of the night": {
            "task": "quotes.tasks.begin_nightly_work",
            "schedule": crontab(minute=10),
            "options": {"expires": 3000},
        },
    },
)
# The library reads this key by its literal name, past any prefix: without it every task opens a database
# connection of its own.
app.conf.CELERY_DB_REUSE_MAX = 200
app.autodiscover_tasks(["costbase", "quotes"])


@worker_init.connect
def refuse_a_login_that_row_policies_do_not_bind(**_: object) -> None:
    """Stops a worker that could read every shop's rows, before it takes its first task.

    Runs before the worker forks, and leaves no connection behind for its children to share.

    Raises:
        SystemExit: the login is refused; anything less would only be logged, and the worker would go on.
    """
    # Imported here, because models exist only once Django is set up.
    from api.accounts.login_role import UnboundLogin, refuse_unbound_login

    try:
        refuse_unbound_login()
    except UnboundLogin as error:
        raise SystemExit(str(error)) from error
