"""The service's worker with the clocks of minutes set to seconds.

Run as ``celery --app tests.background.worker_app worker --beat``.
"""

from api.celery import app

app.conf.broker_transport_options = {
    **app.conf.broker_transport_options,
    # Long enough for two children to begin on a machine that has much else to do: until then a task is handed out once.
    "visibility_timeout": 8,
    "unacked_restore_interval": 1,
}
app.conf.beat_schedule = {"look": {"task": "tests.background.look", "schedule": 0.5, "options": {"expires": 2}}}
# Imported when Django is set up.
app.autodiscover_tasks(["tests.background"], related_name="gated")
