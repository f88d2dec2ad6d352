"""How is the service set up? What differs between machines comes from `api/environment.py`; the rest stands
here.
"""

import sys
from pathlib import Path

import pghistory
import structlog
from structlog.typing import Processor

from api import environment

BASE_DIR = Path(__file__).resolve().parent.parent
ENVIRONMENT = environment.read()

SECRET_KEY = ENVIRONMENT.secret_key
DEBUG = ENVIRONMENT.debug
ALLOWED_HOSTS = list(ENVIRONMENT.allowed_hosts)

ROOT_URLCONF = "api.urls"
WSGI_APPLICATION = "api.wsgi.application"

# There is no django.contrib.auth: people, memberships and tokens are our own tables, bound to a shop or a
# network.
INSTALLED_APPS = [
    "django.contrib.staticfiles",
    "rest_framework",
    "django_filters",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "pgtrigger",
    "pghistory",
    "costbase",
    "quotes",
    "api.accounts",
    "api",
]

# The history library declares a view of its own over "the user"; nothing of ours reads it, but its model must
# resolve.
AUTH_USER_MODEL = "accounts.Person"

MIDDLEWARE = [
    "api.rest.request_log.RequestLog",
    "api.rest.metrics.Metrics",
    "django.middleware.security.SecurityMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

# --- Database --------------------------------------------------------------------------------------------

# `manage.py migrate` changes the schema, so it alone logs in as the owner of the tables, whom no row policy
# binds (DATABASE_OWNER_URL). The web, the workers and every other command log in as the role that policies
# bind (DATABASE_URL), and need not be told the owner's address at all.
_MIGRATES = Path(sys.argv[0]).name == "manage.py" and sys.argv[1:2] == ["migrate"]
_LOGIN = ENVIRONMENT.owner_url() if _MIGRATES else ENVIRONMENT.database_url

DATABASES = {"default": _LOGIN.settings()}
# The scope of a request or task is its only transaction, opened when it is known for whom.
DATABASES["default"]["ATOMIC_REQUESTS"] = False
# Only the web has a pool: in a worker the queue's library closes connections around every task, which a pool
# answers with a new connection each time. A pool and persistent connections exclude each other.
if ENVIRONMENT.database_pool_size and not _MIGRATES:
    DATABASES["default"]["CONN_MAX_AGE"] = 0
    DATABASES["default"]["OPTIONS"] = {
        **dict(_LOGIN.options),
        "pool": {"min_size": 1, "max_size": ENVIRONMENT.database_pool_size, "timeout": 5},
    }
else:
    DATABASES["default"]["CONN_MAX_AGE"] = None

DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# An event's references are found through its own index (shop, tracked row), never one by one.
PGHISTORY_FOREIGN_KEY_FIELD = pghistory.ForeignKey(db_index=False)

# --- Values ----------------------------------------------------------------------------------------------

USE_TZ = True
TIME_ZONE = "UTC"
LANGUAGE_CODE = "en-us"
USE_I18N = False

STATIC_URL = "/static/"

# --- REST ------------------------------------------------------------------------------------------------

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["api.rest.authentication.BearerAuthentication"],
    # Roles are checked by the base views, view by view and method by method.
    "DEFAULT_PERMISSION_CLASSES": [],
    "DEFAULT_PARSER_CLASSES": ["api.rest.parsing.StrictJSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "api.rest.errors.exception_handler",
    "UNAUTHENTICATED_USER": None,
    "UNAUTHENTICATED_TOKEN": None,
    "COERCE_DECIMAL_TO_STRING": True,
    # Faults in a list are told by index, not padded with an empty place for every element that is right.
    "LIST_SERIALIZER_ERRORS_AS_DICT": True,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
    "TEST_REQUEST_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
}

SPECTACULAR_SETTINGS = {
    "TITLE": "Coach roof quotes",
    "DESCRIPTION": (
        "Quotes for rebuilding the roofs of motorhomes, with money set aside for rot that nobody can see yet. Every "
        "refusal is a problem document (RFC 9457); GET /api/problems lists the codes."
    ),
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SCHEMA_PATH_PREFIX": r"/api/v1/(shops|networks)/\{\w+\}",
    # What is sent and what is answered differ (defaults, what the server adds), so they have schemas of their own.
    "COMPONENT_SPLIT_REQUEST": True,
    # Choices stand where they are used: named enumerations would clash over words such as "kind".
    "POSTPROCESSING_HOOKS": [],
    "ENUM_GENERATE_CHOICE_DESCRIPTION": False,
}

# --- Log -------------------------------------------------------------------------------------------------

_SHARED_PROCESSORS: list[Processor] = [
    structlog.contextvars.merge_contextvars,
    structlog.stdlib.add_log_level,
    structlog.stdlib.add_logger_name,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
    structlog.processors.format_exc_info,
]
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "json": {
            "()": structlog.stdlib.ProcessorFormatter,
            "processor": structlog.processors.JSONRenderer(),
            "foreign_pre_chain": _SHARED_PROCESSORS,
        }
    },
    "handlers": {"stdout": {"class": "logging.StreamHandler", "stream": "ext://sys.stdout", "formatter": "json"}},
    "root": {"handlers": ["stdout"], "level": "INFO"},
}
structlog.configure(
    processors=[*_SHARED_PROCESSORS, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
    logger_factory=structlog.stdlib.LoggerFactory(),
    cache_logger_on_first_use=True,
)
