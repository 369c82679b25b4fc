"""What a web process has done before it answers its first request."""

import importlib
import sys

from django.urls import clear_url_caches, get_resolver


def test_all_views_are_loaded_before_the_first_request(monkeypatch):
    monkeypatch.delitem(sys.modules, "studio.wsgi", raising=False)
    clear_url_caches()
    importlib.import_module("studio.wsgi")
    assert "url_patterns" in vars(get_resolver())
