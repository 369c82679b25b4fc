"""The storage behind nginx, as the example says: an address that the site signed is believed there."""

import http.client
import ssl

import boto3
from botocore.config import Config

from tests.services.seaweed import BUCKET
from tests.studio.before_nginx import certificate_in, configured, nginx_with, with_certificate
from tests.studio.serving import PATIENCE_S, ROOT, free_port

EXAMPLE = ROOT / "studio" / "deploy" / "nginx-files.conf"
HOST = "files.example.org"


class Browser(http.client.HTTPSConnection):
    """Speaks TLS with whoever has the certificate of the name, though it is asked at this machine."""

    def connect(self):
        http.client.HTTPConnection.connect(self)
        self.sock = self._context.wrap_socket(self.sock, server_hostname=HOST)


def signed(service):
    """An address of a file as the site gives it to browsers, without the name."""
    said = service.surroundings
    client = boto3.Session(said["S3_KEY"], said["S3_SECRET"], region_name="us-east-1").client(
        "s3",
        endpoint_url=f"https://{HOST}",
        config=Config(signature_version="s3v4", s3={"addressing_style": "path"}),
    )
    address = client.generate_presigned_url("get_object", {"Bucket": BUCKET, "Key": "a-photo"}, 60)
    return address.removeprefix(f"https://{HOST}")


def test_a_signed_address_is_good_through_it_and_no_other(service, tmp_path):
    service.client().put_object(Bucket=BUCKET, Key="a-photo", Body=b"of a reed")
    certificate, port = certificate_in(tmp_path, HOST), free_port()
    changes = with_certificate(certificate) | {
        "listen 443 ssl http2;": f"listen 127.0.0.1:{port} ssl http2;",
        "http://storage.example:8333": service.surroundings["S3_ENDPOINT"],
    }
    trusted = ssl.create_default_context(cafile=str(certificate[0]))

    def asked(path):
        browser = Browser("127.0.0.1", port, context=trusted, timeout=PATIENCE_S)
        browser.request("GET", path, headers={"Host": HOST})
        answer = browser.getresponse()
        said = answer.status, answer.read()
        browser.close()
        return said

    with nginx_with(configured(tmp_path, EXAMPLE, changes)):
        good = signed(service)
        assert asked(good) == (200, b"of a reed")
        assert asked(good[:-1] + ("0" if good[-1] != "0" else "1"))[0] == 403
        assert asked(f"/{BUCKET}/a-photo")[0] == 403
