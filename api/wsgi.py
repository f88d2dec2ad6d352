"""The web application, as a WSGI server loads it. It refuses to start with a login that row policies do not
bind.
"""

import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

# A task that is published before the Celery application exists goes to another broker.
import api.celery  # noqa: F401

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.settings")

application = get_wsgi_application()

# Models exist only once Django is set up, which the line above does.
from api.accounts.login_role import refuse_unbound_login  # noqa: E402

# Loads every view: the first request would otherwise wait for all of their imports.
get_resolver().url_patterns  # noqa: B018
refuse_unbound_login()
