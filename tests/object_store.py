"""A real S3 server on loopback, which takes requests with right signatures only."""

from __future__ import annotations

import json
import logging
import secrets
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

BUCKET = "kitdesk-tests"
REGION = "eu-central-1"
_ALL_OF_S3 = {"Effect": "Allow", "Action": "s3:*", "Resource": "*"}


@dataclass(frozen=True)
class RunningStore:
    """Where it listens, and the keys that it takes."""

    endpoint: str
    key: str
    secret: str

    def address(self, folder: str = "", **more: str) -> str:
        """As KITDESK_FILES names a folder of the bucket; a new one where none is given."""
        folder = folder or secrets.token_hex(8)
        facts = {"endpoint": self.endpoint, "region": REGION, **more}
        query = "&".join(f"{name}={value}" for name, value in facts.items())
        return f"s3://{BUCKET}/{folder}?{query}"

    @property
    def keys(self) -> dict[str, str]:
        """The environment of a desk that may use it."""
        return {"AWS_ACCESS_KEY_ID": self.key, "AWS_SECRET_ACCESS_KEY": self.secret}

    def client(self) -> Any:
        """For a look at the bucket past Kitdesk."""
        return _client("s3", self.endpoint, self.key, self.secret)


@contextmanager
def running_store() -> Iterator[RunningStore]:
    """Start the server in threads of this process, with one bucket and one account."""
    # Loaded only by runs that use it: half a second.
    from moto import settings
    from moto.server import ThreadedMotoServer

    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    endpoint = f"http://{host}:{port}"
    anybody = _client("s3", endpoint, "anybody", "anybody")
    anybody.create_bucket(Bucket=BUCKET, CreateBucketConfiguration={"LocationConstraint": REGION})
    accounts = _client("iam", endpoint, "anybody", "anybody")
    accounts.create_user(UserName="desk")
    policy = json.dumps({"Version": "2012-10-17", "Statement": [_ALL_OF_S3]})
    accounts.put_user_policy(UserName="desk", PolicyName="files", PolicyDocument=policy)
    made = accounts.create_access_key(UserName="desk")["AccessKey"]
    # From here on every request must be signed with these keys.
    open_before = settings.INITIAL_NO_AUTH_ACTION_COUNT
    settings.INITIAL_NO_AUTH_ACTION_COUNT = 0
    try:
        yield RunningStore(endpoint, made["AccessKeyId"], made["SecretAccessKey"])
    finally:
        settings.INITIAL_NO_AUTH_ACTION_COUNT = open_before
        server.stop()


def _client(service: str, endpoint: str, key: str, secret: str) -> Any:
    import boto3

    return boto3.client(
        service,
        endpoint_url=endpoint,
        region_name=REGION,
        aws_access_key_id=key,
        aws_secret_access_key=secret,
    )


@contextmanager
def store_beside() -> Iterator[dict[str, str]]:
    """The same server in a process of its own; the environment of a desk that may use it."""
    with subprocess.Popen(
        [sys.executable, "-m", "tests.object_store"],
        cwd=Path(__file__).resolve().parents[1],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        yield dict(json.loads(process.stdout.readline() if process.stdout else ""))
        process.communicate()


if __name__ == "__main__":
    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    with running_store() as _store:
        print(json.dumps(_store.keys | {"KITDESK_FILES": _store.address()}), flush=True)
        sys.stdin.read()
