"""Web server and worker by one command, stopped together."""

from __future__ import annotations

import io
import os
import signal
import sys
import time
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser

from studio.children import GRACE_S, Child, Stopped, answers, port_is_free, stop
from studio.models import Studio
from studio.push.signing import public_key

START_S = 300.0  # a machine busy with much else; a server that ends is told at once
LISTEN_EVERY_S = 5.0
TICK_S = 0.2
SHORT_LIFE_S = 10.0
# a web process that still loads does not hear that it shall end, and its server would wait for ever
WEB_GRACE_S = GRACE_S / 2


def _stopped(number: int, _frame: object) -> None:
    signal.signal(number, signal.SIG_IGN)  # once is enough; what runs is ended in order
    raise Stopped


def web(target: str = "studio.wsgi:application", grace_s: float = WEB_GRACE_S) -> Child:
    """Return the web server, not yet started; asked to end, it gives its processes so long."""
    options = {
        "--interface": "wsgi",
        "--host": settings.BIND,
        "--port": str(settings.PORT),
        "--workers": str(settings.WEB_WORKERS),
        "--blocking-threads": str(settings.WEB_THREADS),
        "--log-level": "warning",
        "--workers-kill-timeout": f"{grace_s:.0f}",
    }
    flags = [part for option in options.items() for part in option]
    command = [sys.executable, "-m", "granian", *flags, "--no-ws", "--respawn-failed-workers", target]
    return Child(command, settings.BASE_DIR, {**os.environ, "DIES_WITH_SERVER": "1"})


def worker() -> Child:
    """Return the worker, not yet started."""
    return Child([sys.executable, "manage.py", "work", "--skip-checks"], settings.BASE_DIR)


class Command(BaseCommand):
    help = "Prepare the data, then start web server and worker together; Ctrl-C stops both."
    heard_at = 0.0  # when the web server last listened, and when that was asked
    asked_at = 0.0

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--no-prepare", action="store_true", help="start at once: another has migrated the database"
        )
        parser.add_argument("--no-worker", action="store_true", help="workers run elsewhere: manage.py work")

    def handle(self, *_args: Any, **options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, _stopped)
        children: list[Child] = []
        try:
            self._require_port()
            if not options["no_prepare"]:
                self._prepare()
            children += [web()] if options["no_worker"] else [web(), worker()]
            self._run(*children)
        except Stopped:
            self.stdout.write("Stopping web server and worker.")
        finally:
            stop(children)

    def _require_port(self) -> None:
        if not port_is_free(settings.BIND, settings.PORT):
            other = settings.PORT + 1
            raise CommandError(
                f"Port {settings.PORT} is taken or not allowed. Choose another: make run PORT={other}"
            )

    def _prepare(self) -> None:
        """Bring the database up to date; outside production an empty one gets the demo studio."""
        self.stdout.write("Preparing the database.")
        call_command("migrate", verbosity=0, interactive=False)
        call_command("createcachetable", verbosity=0)
        public_key()  # made with the first start, not while somebody waits for a page
        if settings.PRODUCTION:
            call_command("collectstatic", verbosity=0, interactive=False)
        elif settings.DEMO and not Studio.objects.exists():
            self.stdout.write("Loading the demo studio, this once; it takes about half a minute.")
            call_command("demo", stdout=io.StringIO())  # how to sign in is told once it can be done

    def _run(self, site: Child, *helpers: Child) -> None:
        site.start()
        for helper in helpers:
            helper.start()
        self._wait_for(site)
        self._welcome()
        while True:
            self._revive_site(site)
            for helper in helpers:
                self._revive(helper)
            time.sleep(TICK_S)

    def _revive_site(self, site: Child) -> None:
        """Start the web server again when it ended or is deaf; one that ends again at once is given up."""
        if site.is_alive and not self._is_deaf(site):
            return
        if site.is_alive:
            self.stderr.write("The web server lives and nobody listens; it is ended.")
            stop([site])
        if site.starts > 1 and site.lived_s < SHORT_LIFE_S:
            raise CommandError("The web server ended by itself, twice; its last lines above say why.")
        self.stderr.write("The web server ended by itself; it is started again.")
        site.start()

    def _is_deaf(self, site: Child) -> bool:
        """Whether it has not listened for long: its processes died and it has not noticed."""
        now = time.monotonic()
        if now - self.asked_at > LISTEN_EVERY_S:
            self.asked_at = now
            self.heard_at = now if self._listens() else self.heard_at
        return now - max(self.heard_at, site.started_at) > START_S

    @staticmethod
    def _listens() -> bool:
        host = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(settings.BIND, settings.BIND)  # noqa: S104  # compared, not bound
        return answers(host, settings.PORT)

    def _wait_for(self, site: Child) -> None:
        while site.is_alive and not self._listens():
            if site.lived_s > START_S:
                raise CommandError(f"The web server did not answer within {START_S:.0f} s.")
            time.sleep(TICK_S)

    def _revive(self, helper: Child) -> None:
        """Start the worker again when it ended, more slowly the shorter it lived."""
        if helper.is_alive:
            return
        if helper.lived_s < SHORT_LIFE_S and helper.starts > 1:
            return  # wait until the pause is over
        self.stderr.write("The worker ended by itself; it is started again.")
        helper.start()

    def _welcome(self) -> None:
        self.stdout.write(f"\nThe studio is at {settings.SITE_ADDRESS}/  (Ctrl-C stops it)")
        if Studio.objects.filter(is_demo=True).exists():
            call_command("demo", sign_ins=True, stdout=self.stdout)
        self.stdout.flush()
