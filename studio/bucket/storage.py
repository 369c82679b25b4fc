"""The storage of kept files in a bucket."""

from __future__ import annotations

import datetime as dt
import functools
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from boto3.s3.transfer import TransferConfig
from django.conf import settings
from django.core.files import File
from storages.backends.s3 import S3Storage

from studio.bucket.arriving import Arrived, post_to
from studio.bucket.client import config, session
from studio.bucket.reached import reaching
from studio.bucket.signed import signed_address
from studio.errors import FilesUnreachable

IN_MEMORY_BYTES = 4 * 1024 * 1024
# whatever people send is smaller and goes as one request: all of it is there, or nothing
ONE_REQUEST_BYTES = 32 * 1024 * 1024


class Bucket(S3Storage):
    """Django-storages' own, with one connection for all threads, and errors in the words of files."""

    def __init__(self, **given: Any) -> None:  # noqa: ANN401  # as S3Storage has it
        own = {
            "bucket_name": settings.S3_BUCKET,
            "endpoint_url": settings.S3_ENDPOINT,
            "file_overwrite": False,
            "client_config": config(),
            "transfer_config": TransferConfig(multipart_threshold=ONE_REQUEST_BYTES, use_threads=False),
        }
        super().__init__(**own | given)

    @property
    def location(self) -> str:
        """Which folder of the bucket is ours."""
        return str(settings.S3_PREFIX)

    @functools.cached_property
    def connection(self) -> Any:  # noqa: ANN401  # boto3's
        return session().resource("s3", endpoint_url=self.endpoint_url, config=self.client_config)

    @property
    def client(self) -> Any:  # noqa: ANN401  # boto3's
        return self.connection.meta.client

    def key(self, name: str) -> str:
        """Return the object's key for a file's name."""
        key: str = self._normalize_name(name)
        return key

    def _open(self, name: str, _mode: str = "rb") -> File[bytes]:
        """Fetch the file whole; it is read from a copy that goes when it is closed."""
        copy = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY_BYTES)  # noqa: SIM115  # closed by who reads
        try:
            with reaching(name):
                shutil.copyfileobj(self._body(name), copy)
        except BaseException:
            copy.close()
            raise
        copy.seek(0)
        return File(copy, name)

    def _body(self, name: str) -> IO[bytes]:
        body: IO[bytes] = self.client.get_object(Bucket=self.bucket_name, Key=self.key(name))["Body"]
        return body

    def fetch(self, name: str, place: Path) -> None:
        """Write a file to the disk, for us alone; what is there stays where the bucket has none."""
        with reaching(name):
            body = self._body(name)
            with os.fdopen(os.open(place, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
                shutil.copyfileobj(body, file)

    def put(self, name: str, data: bytes) -> None:
        """Write under this name, whatever was there."""
        with reaching(name):
            self.client.put_object(Bucket=self.bucket_name, Key=self.key(name), Body=data)

    def copy(self, name: str, to: str) -> None:
        """Copy a file within the bucket, which the service does by itself."""
        source = {"Bucket": self.bucket_name, "Key": self.key(name)}
        with reaching(name):
            self.client.copy_object(Bucket=self.bucket_name, Key=self.key(to), CopySource=source)

    def walk(self, start: str) -> Iterator[tuple[str, int, dt.datetime]]:
        """Yield every file whose name begins so, with its size and when it was written."""
        ours = len(f"{self.location}/") if self.location else 0
        with reaching(start):
            pages = self.client.get_paginator("list_objects_v2").paginate(
                Bucket=self.bucket_name, Prefix=f"{self.location}/{start}" if ours else start
            )
            for page in pages:
                for one in page.get("Contents", ()):
                    yield one["Key"][ours:], one["Size"], one["LastModified"]

    def _save(self, name: str, content: File[bytes]) -> str:
        if isinstance(content, Arrived):
            content.move_to(self.key(name), self.default_content_type)
            return name
        with reaching(name):
            return str(super()._save(name, content))

    def delete(self, name: str) -> None:
        with reaching(name):
            super().delete(name)

    def exists(self, name: str) -> bool:
        with reaching(name):
            return bool(super().exists(name))

    def size(self, name: str) -> int:
        with reaching(name):
            return int(super().size(name))

    def listdir(self, name: str) -> tuple[list[str], list[str]]:
        with reaching(name):
            folders, files = super().listdir(name)
        return folders, files

    def get_modified_time(self, name: str) -> dt.datetime:
        with reaching(name):
            at: dt.datetime = super().get_modified_time(name)
        return at

    def address_for(self, name: str, content_type: str, disposition: str) -> str:
        """Return the address by which a browser fetches a file, of this type, for some minutes."""
        return signed_address(self.key(name), content_type, disposition)

    def place_for(self, name: str, size: int, content_type: str, lasts_s: int) -> dict[str, Any]:
        """Return address and fields of a form by which a browser puts a file of this size there."""
        key = self.key(name)
        return post_to(settings.S3_BROWSER_ENDPOINT, self.bucket_name, key, size, content_type, lasts_s)

    def arrived(self, name: str, content_type: str) -> Arrived:
        """Return what a browser put there, as an upload; FileNotFoundError where it did not."""
        return Arrived(self.client, self.bucket_name, self.key(name), content_type)

    def make_ready(self, origin: str) -> None:
        """Make the bucket if it is not there, and let pages of `origin` send files to it."""
        rule = {"AllowedMethods": ["POST"], "AllowedOrigins": [origin], "AllowedHeaders": ["*"]}
        with reaching(self.bucket_name):
            if self.bucket_name not in [one["Name"] for one in self.client.list_buckets()["Buckets"]]:
                self.client.create_bucket(Bucket=self.bucket_name)
            self.client.put_bucket_cors(Bucket=self.bucket_name, CORSConfiguration={"CORSRules": [rule]})

    def is_reached(self) -> bool:
        """Whether the service answers, and knows us."""
        try:
            self.exists("anything")
        except FilesUnreachable:
            return False
        return True
