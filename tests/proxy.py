"""A real nginx in front of a real server, with the configuration that README gives."""

import os
import re
import shutil
import socket
import subprocess
import tempfile
import textwrap
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.bench.real_server import PATIENCE_S, ROOT

NGINX = shutil.which("nginx", path=f"{os.environ.get('PATH', '')}:/usr/sbin")
NAME = "shop.example"
PUBLIC = f"https://{NAME}/oil"
# What the file around README's part has on any machine, in a folder of its own.
AROUND = """
{user}
daemon off;
pid {folder}/pid;
error_log {folder}/error.log;
events {{ }}
http {{
    access_log off;
    client_body_temp_path {folder}/body;
    proxy_temp_path {folder}/proxy;
    fastcgi_temp_path {folder}/fastcgi;
    uwsgi_temp_path {folder}/uwsgi;
    scgi_temp_path {folder}/scgi;
{part}
}}
"""


def without_nginx() -> pytest.MarkDecorator:
    """Skips where there is no nginx; where CI is set its tests fail instead."""
    return pytest.mark.skipif(not (NGINX or os.environ.get("CI")), reason="no nginx here: apt-get install nginx")


def of_readme() -> str:
    """The configuration in README."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    return textwrap.dedent(re.search(r"^    limit_req_zone.*?^    }$", readme, re.MULTILINE | re.DOTALL)[0])


@contextmanager
def proxied(upstream: str) -> Iterator[tuple[int, Path]]:
    """The port of an nginx that asks this server, and the certificate that it shows."""
    assert NGINX, "CI puts a proxy in front of the service, and nginx is missing: apt-get install nginx"
    with tempfile.TemporaryDirectory() as name, socket.create_server(("127.0.0.1", 0)) as free:
        folder, port = Path(name), free.getsockname()[1]
        certificate, key = folder / f"{NAME}.crt", folder / f"{NAME}.key"
        subprocess.run(
            ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-noenc",
             "-days", "2", "-subj", f"/CN={NAME}", "-addext", f"subjectAltName=DNS:{NAME}",
             "-keyout", key, "-out", certificate],
            check=True, capture_output=True,
        )  # fmt: skip
        part = of_readme()
        for told, here in (
            ("/etc/ssl/", f"{folder}/"),
            ("listen 443", f"listen 127.0.0.1:{port}"),
            ("http://127.0.0.1:8000", upstream),
        ):
            assert told in part
            part = part.replace(told, here)
        # Its workers write bodies to the folder, which is ours alone.
        user = "user root;" if os.getuid() == 0 else ""
        (folder / "nginx.conf").write_text(AROUND.format(folder=folder, part=part, user=user), encoding="utf-8")
        free.close()
        log = folder / "error.log"
        command = [NGINX, "-p", folder, "-c", folder / "nginx.conf", "-e", log]
        with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as process:
            try:
                end = time.monotonic() + PATIENCE_S
                while not _listens(port):
                    assert process.poll() is None, process.stderr.read()
                    assert time.monotonic() < end, log.read_text()
                    time.sleep(0.01)
                yield port, certificate
            finally:
                process.terminate()


def _listens(port: int) -> bool:
    with socket.socket() as caller:
        return caller.connect_ex(("127.0.0.1", port)) == 0
