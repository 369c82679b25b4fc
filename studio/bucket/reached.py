"""What the service answers, in the words of files: not there, or not to be had at the moment."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from boto3.exceptions import Boto3Error
from botocore.exceptions import BotoCoreError, ClientError

from studio.errors import FilesUnreachable

GONE = 404


def status_of(error: ClientError) -> int:
    return int(error.response.get("ResponseMetadata", {}).get("HTTPStatusCode", 0))


@contextmanager
def reaching(name: str) -> Iterator[None]:
    """Raise FileNotFoundError where the service has no such object, else FilesUnreachable."""
    try:
        yield
    except ClientError as error:
        if status_of(error) == GONE:
            raise FileNotFoundError(f"File does not exist: {name}") from error
        raise FilesUnreachable(f"the bucket refused {name}: {error}") from error
    except (BotoCoreError, Boto3Error) as error:
        raise FilesUnreachable(f"the bucket did not answer for {name}: {error}") from error
