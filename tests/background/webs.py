"""How do tests kill the web? A service as it is served, in a process of its own, beside the place's database."""

import http.client
import json
import os
import signal
import subprocess
import sys
from dataclasses import dataclass, field
from typing import Any

from api.management.children import HOST, free_port
from tests.background.servers import Place
from tests.embedded.conftest import ROOT

Answer = tuple[int, dict[str, Any]]


@dataclass
class Web:
    """The service as it is served, which can be killed and started anew at the same port."""

    place: Place
    threads: int
    port: int = field(default_factory=lambda: free_port(None))
    process: "subprocess.Popen[bytes] | None" = None

    def start(self) -> None:
        command = ["-m", "granian", "--interface", "wsgi", "--host", HOST, "--port", str(self.port), "--no-ws"]
        command += ["--workers", "1", "--blocking-threads", str(self.threads), "api.wsgi:application"]
        with open(self.place.folder / "web.log", "ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, *command], cwd=ROOT, env=self.place.variables(), stdout=log, stderr=log, start_new_session=True
            )
        self.place.until(self.is_ready, "the web does not become ready")

    def kill(self) -> None:
        """Kills the web with its workers, none of which can say a word."""
        if self.process is not None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None

    def is_ready(self) -> bool:
        try:
            return self.ask("GET", "/readyz", None, {})[0] == 200
        except (OSError, http.client.HTTPException):
            return False

    def ask(self, method: str, path: str, body: object, headers: dict[str, str]) -> Answer:
        client = http.client.HTTPConnection(HOST, self.port, timeout=60)
        try:
            sent = {**headers, "Content-Type": "application/json", "Host": "localhost"}
            client.request(method, path, json.dumps(body) if body is not None else None, sent)
            answer = client.getresponse()
            told = answer.read()
            return answer.status, json.loads(told) if told else {}
        finally:
            client.close()
