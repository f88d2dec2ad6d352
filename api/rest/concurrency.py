"""Has the thing changed since the client read it?

What can be edited has a version that every change raises. An answer carries it as a strong ETag, ``"v7"``; a
change must name it in If-Match, and a read may name it in If-None-Match to be spared the body. See RFC 9110,
section 13, and RFC 6585, section 3.
"""

import hashlib
import re

from rest_framework import status
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.errors import Problem, bad_header

_TAG = re.compile(r'(W/)?"([\x21\x23-\x7e\x80-\xff]*)"')
_LIST = re.compile(rf"\s*{_TAG.pattern}(?:\s*,\s*{_TAG.pattern})*\s*")


def etag(version: int) -> str:
    """The ETag of a version."""
    return f'"v{version}"'


def require_match(request: Request, version: int) -> None:
    """Lets a change through only if the client has read this version.

    The caller has the row locked, so that the version cannot move between this look and the change.

    Raises:
        Problem: if_match_missing, version_mismatch or, for a header that is no list of ETags, bad_header.
    """
    header = request.headers.get("If-Match")
    if header is None:
        raise Problem("if_match_missing", "Expected the header If-Match with the ETag that was read.")
    if header.strip() == "*":
        return
    # A weak tag says "much the same", which is not enough to overwrite something.
    strong = {tag for weak, tag in _tags("If-Match", header) if not weak}
    if f"v{version}" not in strong:
        raise Problem(
            "version_mismatch",
            f"It is at {etag(version)} now, not at {header.strip()[:60]}; read it again before changing it.",
            headers={"ETag": etag(version)},
        )


def answer_version(request: Request, version: int, response: Response) -> Response:
    """The response with its ETag, or 304 without a body where the client has this version already."""
    return _answered(request, f"v{version}", response)


def answer_digest(request: Request, response: Response) -> Response:
    """As `answer_version`, for an answer that is put together from several things: its ETag is a digest of what it says."""
    body = JSONRenderer().render(response.data)
    return _answered(request, hashlib.sha256(body).hexdigest()[:32], response)


def _answered(request: Request, tag: str, response: Response) -> Response:
    header = request.headers.get("If-None-Match")
    if header is not None and request.method in ("GET", "HEAD"):
        known = header.strip() == "*" or any(name == tag for _, name in _tags("If-None-Match", header))
        if known:
            return Response(status=status.HTTP_304_NOT_MODIFIED, headers={"ETag": f'"{tag}"'})
    response["ETag"] = f'"{tag}"'
    return response


def _tags(name: str, header: str) -> list[tuple[bool, str]]:
    if len(header) > 1_000 or not _LIST.fullmatch(header):
        raise bad_header(name, f'Expected ETags such as "v7" with commas between them in {name}.')
    return [(bool(weak), tag) for weak, tag in _TAG.findall(header)]
