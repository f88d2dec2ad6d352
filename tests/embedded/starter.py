"""A process that starts a server, says so on a line of JSON, and stops it when its standard input closes."""

import importlib
import json
import signal
import sys
from pathlib import Path


def main(kind: str, folder: Path) -> None:
    # As a shell does to background jobs: a server must not inherit that SIGINT is ignored.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    profile = {"test_profile": True} if kind == "postgres" else {}
    server = importlib.import_module(f"api.embedded.{kind}").start(folder, **profile)
    address = server.url if kind == "broker" else server.app_url
    print(json.dumps({"owner": server.owner, "url": address}), flush=True)
    sys.stdin.read()
    server.stop()


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))
