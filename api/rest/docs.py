"""Where can a client read how to speak with the service? Pages of documentation, served whole from here.

The page, its scripts and the schema come from this server and nothing else: its policy forbids the browser any other. The
schema is the file that a test compares with the views, so that reading it costs no work.
"""

from importlib.resources import files
from pathlib import Path

from django.http import FileResponse, Http404, HttpRequest, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase
from django.views.decorators.http import require_safe

from api.rest.codes import CODES

SCHEMA = Path(__file__).with_name("openapi.yaml")

# The library writes styles into elements and shows its icons as data addresses.
_POLICY = "default-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; frame-ancestors 'none'"
_ASSETS = {
    "swagger-ui.css": "text/css",
    "swagger-ui-bundle.js": "text/javascript",
    "swagger-ui-standalone-preset.js": "text/javascript",
    "favicon-32x32.png": "image/png",
}
_PAGE = """<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Coach roof quotes: the API</title>
<link rel="icon" href="/api/docs/favicon-32x32.png">
<link rel="stylesheet" href="/api/docs/swagger-ui.css">
<div id="operations"></div>
<script src="/api/docs/swagger-ui-bundle.js"></script>
<script src="/api/docs/start.js"></script>
</html>
"""
# Without `validatorUrl: null` the page would show the schema's address to somebody else's server.
_START = """SwaggerUIBundle({
  url: "/api/openapi.yaml", dom_id: "#operations", deepLinking: true, validatorUrl: null, docExpansion: "list",
  presets: [SwaggerUIBundle.presets.apis], persistAuthorization: false
});
"""


@require_safe
def page(_: HttpRequest) -> HttpResponse:
    return HttpResponse(_PAGE, headers={"Content-Security-Policy": _POLICY})


@require_safe
def start(_: HttpRequest) -> HttpResponse:
    return HttpResponse(_START, content_type="text/javascript")


@require_safe
def asset(_: HttpRequest, name: str) -> HttpResponseBase:
    if name not in _ASSETS:
        raise Http404
    folder = files("drf_spectacular_sidecar") / "static" / "drf_spectacular_sidecar" / "swagger-ui-dist"
    return FileResponse((folder / name).open("rb"), content_type=_ASSETS[name])


@require_safe
def schema(_: HttpRequest) -> HttpResponse:
    return HttpResponse(SCHEMA.read_bytes(), content_type="application/yaml; charset=utf-8")


@require_safe
def problem(_: HttpRequest, code: str) -> JsonResponse:
    """What `type` of a problem document leads to."""
    if code not in CODES:
        raise Http404
    kind = CODES[code]
    return JsonResponse({"code": code, "status": kind.status, "title": kind.title, "meaning": kind.meaning})


@require_safe
def problems(_: HttpRequest) -> JsonResponse:
    """Every code with its status and meaning."""
    return JsonResponse(
        {
            "results": [
                {"code": code, "status": kind.status, "title": kind.title, "meaning": kind.meaning}
                for code, kind in CODES.items()
                if kind.status != 500 or code == "internal_error"
            ]
        }
    )
