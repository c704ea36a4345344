# Hookwright. `make run` serves the site, `make test` runs everything that is checked.

PORT ?= 8000
# Which tests: a pytest marker expression. CHECKS=no leaves format, types and templates out.
ONLY ?= not bench
CHECKS ?= yes
# How many processes share the tests, a file at a time.
WORKERS ?= $(shell nproc 2>/dev/null || echo 2)

VENV := .venv
PY := $(VENV)/bin/python
# The first Python of the machine that is new enough, unless one is given.
PYTHON ?= $(firstword $(foreach name,python3 python3.14 python3.13 python3.12 python3.11 python,$(shell \
	$(name) -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $(name))))
STATIC_FILES := $(shell find proshop/static bowlers/static arsenal/static -type f 2>/dev/null)
PRINTING := libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fontconfig fonts-dejavu-core
CODE := manage.py proshop bowlers arsenal physics tests

export NUMBA_CACHE_DIR ?= $(CURDIR)/var/numba
export PORT

.PHONY: help setup run demo test faults screenshots fuzz load bench bench-full lint format types templates browser printing

help:
	@echo "make run     serve on 127.0.0.1, PORT=8000; installs, migrates and loads the demo first"
	@echo "make demo    load the demo again, as new"
	@echo "make test    format, types, templates and every test"
	@echo "make faults  kill the server 200 times while people write"
	@echo "make fuzz    100,000 broken forms, files, JSON cases and command lines"
	@echo "make load    build a chain of 10,000 customers on PostgreSQL and open all its pages"
	@echo "make screenshots  every page with the demo in it, into var/screens; README=yes makes the README's anew"
	@echo "make bench   measure the solvers and a whole ranking; bench-full what takes hours"
	@echo "make format  put the code into shape"

setup: $(VENV)/.installed

$(VENV)/.installed: requirements.txt
	@test -n "$(PYTHON)" || { echo "Python 3.11 or newer is needed, and none was found. Name one: make run PYTHON=/path/to/python"; exit 1; }
	@test -x $(PY) || $(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || { \
		echo "$(PYTHON) can't make virtual environments. On Debian and Ubuntu: sudo apt-get install python3-venv"; exit 1; }
	@test -x $(PY) || { echo "Making $(VENV)…"; $(PYTHON) -m venv $(VENV); }
	@echo "Installing the packages of requirements.txt…"
	@$(PY) -m pip install --quiet --disable-pip-version-check -r requirements.txt
	@touch $@

var/.static: $(VENV)/.installed $(STATIC_FILES)
	@echo "Gathering stylesheets and scripts…"
	@$(PY) manage.py collectstatic --noinput --clear --verbosity 0
	@touch $@

run: setup printing var/.static
	@$(PY) manage.py migrate --verbosity 0
	@$(PY) manage.py demo --if-empty
	@$(PY) manage.py warm
	@exec $(PY) manage.py serve

demo: setup
	@$(PY) manage.py migrate --verbosity 0
	@$(PY) manage.py demo

format: setup
	$(PY) -m ruff format $(CODE)
	$(PY) -m ruff check --fix $(CODE)

lint: setup
	$(PY) -m ruff format --check $(CODE)
	$(PY) -m ruff check $(CODE)

types: setup
	$(PY) -m mypy $(CODE)

templates: setup
	$(PY) -m djlint --lint --quiet proshop bowlers arsenal

# Debian's Chromium for the tests that need a real browser, where it may be installed.
browser:
	@if command -v chromium chromium-browser google-chrome >/dev/null 2>&1; then :; \
	elif [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then \
		echo "Installing Chromium…"; apt-get update -qq && apt-get install -y -qq --no-install-recommends chromium >/dev/null; \
	else \
		echo "*** No Chromium was found and it can't be installed from here: browser tests are SKIPPED. ***"; \
		echo "*** On Debian: sudo apt-get install chromium                                            ***"; \
	fi

# What turns pages into PDFs, where it may be installed: shared libraries, found by trying.
printing: setup
	@if $(PY) -c 'import weasyprint' >/dev/null 2>&1; then :; \
	elif [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then \
		echo "Installing $(PRINTING)…"; apt-get update -qq && apt-get install -y -qq --no-install-recommends $(PRINTING) >/dev/null; \
	else \
		echo "*** Pango wasn't found and can't be installed from here: no PDFs; pages still print from the browser. ***"; \
		echo "*** On Debian: sudo apt-get install $(PRINTING) ***"; \
	fi

# The last line is one JSON object, whether or not every benchmark ran; the table and plots go to
# tests/bench/RESULTS.md.
bench: setup
	@$(PY) -m tests.bench.results --forget
	@$(PY) -m pytest tests/bench -m "bench and not long_run" -s; failed=$$?; \
	$(PY) -m tests.bench.results; exit $$failed

# Brute force, an hour or two on two cores: what is done is kept in var/brute, so that it can be
# stopped and gone on with; what it finds is kept in the tree with the commit it ran on.
bench-full: setup
	$(PY) -m pytest tests/bench -m long_run -s
	@$(PY) -m tests.bench.results

# Web processes killed 200 times while people write; the suite does it ten times.
faults: setup
	KILLS=200 $(PY) -m pytest tests/faults

# A synthetic chain on a PostgreSQL of its own, every page opened by twenty people at once; SCALE=0.1 is
# a tenth of it. Numbers go to tests/bench/RESULTS.md, page by page to tests/load/REPORT.md.
load: setup
	@$(PY) -m tests.load
	@$(PY) -m tests.bench.results

# The suite sends 2,000 cases, the same ones always; this draws others each time, for an hour or two.
fuzz: setup
	FUZZ=$${FUZZ:-100000} $(PY) -m pytest tests/fuzz tests/proshop/test_files_fuzz.py -p no:logging

# Every page at three sizes, light and dark, into var/screens (or SCREENSHOTS); some with PAGES=gaps,sides.
screenshots: setup browser
	@ONLY="$(PAGES)" README="$(README)" $(PY) -m pytest -s -q tests/browser/screens.py

test: setup browser printing $(if $(filter yes,$(CHECKS)),lint types templates)
	$(PY) -m pytest -n $(WORKERS) --dist loadfile $(if $(ONLY),-m "$(ONLY)")
