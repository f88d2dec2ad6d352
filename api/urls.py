"""Which addresses does the service answer?"""

from django.urls import include, path

from api.rest import docs
from api.rest.health import healthz, readyz
from api.rest.metrics import metrics

handler400 = "api.rest.errors.handler400"
handler403 = "api.rest.errors.handler403"
handler404 = "api.rest.errors.handler404"
handler500 = "api.rest.errors.handler500"

urlpatterns = [
    path("healthz", healthz),
    path("readyz", readyz),
    path("metrics", metrics),
    path("api/v1/", include("api.rest.routes")),
    path("api/docs", docs.page),
    path("api/docs/start.js", docs.start),
    path("api/docs/<str:name>", docs.asset),
    path("api/openapi.yaml", docs.schema),
    path("api/problems", docs.problems),
    path("api/problems/<slug:code>", docs.problem),
]
