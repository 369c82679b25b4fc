"""A file that a browser put into the bucket itself, as an upload: moved within the bucket, not fetched."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.core.files import File

from studio.bucket.client import signing
from studio.bucket.reached import reaching


def post_to(
    endpoint: str, bucket: str, key: str, size: int, content_type: str, lasts_s: int
) -> dict[str, Any]:
    """Return address and fields of a form that puts one file of this very size there."""
    fields = {"Content-Type": content_type}
    conditions: list[Any] = [fields, ["content-length-range", size, size]]
    made: dict[str, Any] = signing(endpoint).generate_presigned_post(bucket, key, fields, conditions, lasts_s)
    return made


class Arrived(File[bytes]):
    """Looks like the upload that it stands for: size, type, its bytes as far as they are asked for."""

    def __init__(self, client: Any, bucket: str, key: str, content_type: str) -> None:  # noqa: ANN401  # boto3's
        super().__init__(None, key)
        self.client, self.where, self.content_type, self.at = (
            client,
            {"Bucket": bucket, "Key": key},
            content_type,
            0,
        )
        with reaching(key):
            head = client.head_object(**self.where)
        self.size, self.mark = int(head["ContentLength"]), str(head["ETag"])

    def seek(self, offset: int, whence: int = 0) -> int:
        """Go to a place from its beginning, which is all that is asked of an upload."""
        self.at = offset
        return self.at

    def read(self, size: int | None = -1, /) -> bytes:
        """Fetch so many bytes, or all from here on."""
        last = self.size if size is None or size < 0 else min(self.size, self.at + size)
        if self.at >= last:
            return b""
        with reaching(self.where["Key"]):
            part = self.client.get_object(
                **self.where, Range=f"bytes={self.at}-{last - 1}", IfMatch=self.mark
            )["Body"].read()
        self.at += len(part)
        return bytes(part)

    def chunks(self, _size: int | None = None) -> Iterator[bytes]:
        """Yield all of it, fetched at once."""
        self.seek(0)
        yield self.read()

    def move_to(self, key: str, content_type: str) -> None:
        """Have the service copy what was looked at, and nothing that came since, and delete it here."""
        with reaching(self.where["Key"]):
            self.client.copy_object(
                Bucket=self.where["Bucket"],
                Key=key,
                CopySource=self.where,
                CopySourceIfMatch=self.mark,
                ContentType=content_type,
                MetadataDirective="REPLACE",
            )
            self.client.delete_object(**self.where)
