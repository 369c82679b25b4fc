"""The example for nginx, run: a real one with a throw-away certificate, at ports of its own."""

import os
import shutil
import signal
import subprocess
from contextlib import contextmanager

from tests.studio.serving import PATIENCE_S, ROOT, free_port

HOST = "reeds.example.org"
EXAMPLE = ROOT / "studio" / "deploy" / "nginx.conf"
MAIN = """
pid {folder}/nginx.pid; error_log {folder}/error.log; daemon off; {user}
events {{}}
http {{
    client_body_temp_path {folder}/body; proxy_temp_path {folder}/proxy;
    fastcgi_temp_path {folder}/f; uwsgi_temp_path {folder}/u; scgi_temp_path {folder}/s;
    {site}
}}
"""


def nginx_of():
    found = shutil.which("nginx", path=f"{os.environ['PATH']}:/usr/sbin")
    assert found, "nginx is missing: install the package 'nginx-light'; manage.py verify does where it may"
    return found


def certificate_in(folder, name=HOST):
    """Make a certificate of the example's name and its key; return where they are."""
    names = folder / "cert.pem", folder / "key.pem"
    options = ("-x509", "-newkey", "rsa:2048", "-nodes", "-days", "1", "-subj", f"/CN={name}")
    files = ("-addext", f"subjectAltName=DNS:{name}", "-out", str(names[0]), "-keyout", str(names[1]))
    subprocess.run(["openssl", "req", *options, *files], check=True, capture_output=True)  # noqa: S603, S607
    return names


def configured(folder, example, changes):
    """Write one of the examples with other places into a file, and return it."""
    text = example.read_text()
    for was, now in changes.items():
        assert was in text
        text = text.replace(was, now)
    conf = folder / "nginx.conf"
    user = "user root;" if os.geteuid() == 0 else ""
    conf.write_text(MAIN.format(folder=folder, site=text, user=user))
    return conf


@contextmanager
def nginx_with(conf):
    """Run nginx with this configuration, which it finds well."""
    nginx, errors = nginx_of(), conf.parent / "error.log"
    words = [nginx, "-c", str(conf), "-e", str(errors)]
    tried = subprocess.run([*words, "-t"], capture_output=True, text=True, check=False)  # noqa: S603
    assert tried.returncode == 0, tried.stderr
    proxy = subprocess.Popen(words)  # noqa: S603
    try:
        yield proxy
    finally:
        proxy.send_signal(signal.SIGTERM)
        proxy.wait(PATIENCE_S)


def with_certificate(certificate):
    return {
        "/etc/ssl/reeds/fullchain.pem": str(certificate[0]),
        "/etc/ssl/reeds/privkey.pem": str(certificate[1]),
    }


@contextmanager
def nginx_before(folder, certificate, data, port):
    """Run nginx before the site at `port`; yield its ports for http and https."""
    plain, secure = free_port(), free_port()
    changes = with_certificate(certificate) | {
        "listen 80;": f"listen 127.0.0.1:{plain};",
        "listen 443 ssl http2;": f"listen 127.0.0.1:{secure} ssl http2;",
        "/var/lib/reed-studio/files/": f"{data}/files/",
        "127.0.0.1:8000": f"127.0.0.1:{port}",
    }
    with nginx_with(configured(folder, EXAMPLE, changes)) as proxy:
        yield proxy, plain, secure
