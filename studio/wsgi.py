"""The WSGI entry that the web server loads."""

import multiprocessing
import os

from django.core.wsgi import get_wsgi_application

from studio.confined.kernel import die_with_parent

# a web process whose server was killed would keep the port; only `serve` asks for it
if os.environ.get("DIES_WITH_SERVER"):
    server = multiprocessing.parent_process()
    die_with_parent(server.pid if server else None)
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
application = get_wsgi_application()
