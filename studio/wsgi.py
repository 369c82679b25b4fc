"""The WSGI entry that the web server loads."""

import multiprocessing
import os

from django.core.signals import request_finished
from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

from studio.confined.kernel import die_with_parent
from studio.garbage import settle
from studio.only_read import end_web_if_over

# only `serve` asks for it: a web process whose server was killed would keep the port, and one that ends by
# itself is started again
if os.environ.get("DIES_WITH_SERVER"):
    server = multiprocessing.parent_process()
    die_with_parent(server.pid if server else None)
    request_finished.connect(end_web_if_over)
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
application = get_wsgi_application()
# all views are loaded before the first request comes: many at once would wait for each other's imports
get_resolver().url_patterns  # noqa: B018  # looked up for what it loads
settle()
