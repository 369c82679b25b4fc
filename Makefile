# make run   the studio on this machine, with a demo the first time
# make check what of it takes a minute: linters, types, contracts, templates, quick tests
# make test  everything that must hold: linters, types, contracts, unit, outside and browser tests
# make test-services          the same but the browser's on a PostgreSQL of its own; PART=tests/studio runs a part
# make bench, make accuracy   measured figures; make coverage   what tests run; make lock   the two lock files
# make torture   the worst that can happen to it: kills, full disks, files of bad intent; takes half an hour
# make messages  the words of other languages: finds new sentences, makes what is read; needs Debian's gettext
# make licences, make sbom    the libraries that run with us: their licences, a bill of them
#
# VENV, PYTHON and PORT may be given: make run PORT=8001

SHELL := /bin/bash
PYTHON ?= python3
VENV ?= .venv
PORT ?= 8000
export PORT
PIP_QUIETLY := PIP_DISABLE_PIP_VERSION_CHECK=1 PIP_NO_INPUT=1
export LC_ALL ?= C.UTF-8

.PHONY: help run check test test-services bench accuracy torture coverage lock messages licences sbom env env-dev

help:
	@sed -n 's/^# \{0,1\}//p' $(MAKEFILE_LIST) | head -10

run: env
	@exec $(VENV)/bin/python manage.py serve

check: env-dev
	@exec $(VENV)/bin/python manage.py verify --quick

test: env-dev
	@exec $(VENV)/bin/python manage.py verify

PART ?= tests --ignore=tests/browser --ignore=tests/torture
test-services: env-dev
	@exec $(VENV)/bin/python -m tests.services $(VENV)/bin/python -m pytest -q -n 2 --dist worksteal -p no:cacheprovider $(PART)

# the one table of accuracy comes when all that it tells has been measured
bench accuracy: env-dev
	@status=0; for file in $$(ls tests/$@/[a-z]*.py | grep -v /table.py; ls tests/$@/table.py 2> /dev/null); do \
	  module=$${file%.py}; module=$${module//\//.}; \
	  echo "== $$module"; $(VENV)/bin/python -m $$module || status=1; done; exit $$status

torture: env-dev
	@status=0; for module in tests.torture tests.torture.hostile tests.torture.phone; do \
	  echo "== $$module"; $(VENV)/bin/python -m $$module || status=1; done; exit $$status

# a report that fails nothing, and nearly half as long again as the tests alone: so not in make test
coverage: env-dev
	@$(VENV)/bin/python -m coverage erase; \
	$(VENV)/bin/python -m coverage run -m pytest tests -q -n 2 --dist worksteal -p no:cacheprovider; \
	$(VENV)/bin/python -m coverage combine --quiet; $(VENV)/bin/python -m coverage report

# the environment is made anew only when its lock changed: the lock it was made from is kept inside
env: LOCK := requirements.txt
env-dev: LOCK := requirements-dev.txt
env env-dev:
	@cmp -s $(LOCK) $(VENV)/$(LOCK) && exit 0; \
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || { \
	  echo "Python 3.11 or newer is needed; '$(PYTHON)' is older or missing. Say which: make $(firstword $(MAKECMDGOALS)) PYTHON=python3.12"; exit 1; }; \
	echo "Making the environment in $(VENV) from $(LOCK); the first time this takes a minute or two."; \
	[ -x $(VENV)/bin/pip ] || $(PYTHON) -m venv --clear $(VENV) > /dev/null || { \
	  echo "Python's venv module is missing; on Debian or Ubuntu: apt-get install python3-venv"; exit 1; }; \
	$(PIP_QUIETLY) $(VENV)/bin/pip install -qq --require-hashes -r $(LOCK) || { \
	  echo "The packages of $(LOCK) could not be installed, see above; is a package registry reachable from here?"; exit 1; }; \
	cp $(LOCK) $(VENV)/$(LOCK)

licences: env
	@exec $(VENV)/bin/python manage.py libraries

sbom: env
	@exec $(VENV)/bin/python manage.py libraries --bill

# no address and no machine path gets into a lock: one resolves from whatever registry pip and uv are set to
lock: env-dev
	@for which in "requirements.txt" "requirements-dev.txt --group dev --constraint requirements.txt"; do \
	  $(VENV)/bin/uv pip compile pyproject.toml --quiet --generate-hashes --no-emit-index-url --no-header \
	    --python-version 3.11 --universal -o $$which || exit 1; done
	@echo "Both locks are written; commit them together."

# German stands in studio/locale; what Django and allauth say themselves comes with them
messages: env-dev
	@$(VENV)/bin/python manage.py makemessages --locale de --add-location file --no-obsolete --no-wrap \
	  --ignore "var/*" --ignore "tests/*" --ignore "$(VENV)/*" && \
	sed -i '/^"POT-Creation-Date/d; /^"Report-Msgid/d' studio/locale/de/LC_MESSAGES/django.po && \
	cd studio && $(abspath $(VENV))/bin/python ../manage.py compilemessages --locale de
