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

.PHONY: help setup run demo test test-again faults crowd screenshots fuzz coverage mutation pins audit load bench bench-full lint format types templates browser printing

help:
	@echo "make run     serve on 127.0.0.1, PORT=8000; installs, migrates and loads the demo first"
	@echo "make demo    load the demo again, as new"
	@echo "make test    format, types, templates and every test"
	@echo "make faults  kill the server 200 times while people write, and workers; what it finds goes to tests/LONG_RUNS.md"
	@echo "make crowd   fifty people save while two hundred look, for a minute; likewise"
	@echo "make fuzz    100,000 broken forms, files, JSON cases and command lines"
	@echo "make coverage which branches the tests never take, and why not: tests/COVERAGE.md"
	@echo "make mutation MODULE=layout  break that module of physics in every small way: which breaks do its tests miss?"
	@echo "make pins    requirements.txt anew from pyproject.toml; make audit asks whether a pin is known to be unsafe"
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

# Debian's Chromium for the tests that need a real browser, where it may be installed: the shell without
# windows, which takes a quarter of the processor's time, or else all of it.
browser:
	@if command -v chromium-headless-shell >/dev/null 2>&1; then :; \
	elif [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then \
		echo "Installing Chromium…"; apt-get update -qq; \
		apt-get install -y -qq --no-install-recommends chromium-headless-shell >/dev/null \
			|| apt-get install -y -qq --no-install-recommends chromium >/dev/null; \
	elif command -v chromium chromium-browser google-chrome >/dev/null 2>&1; then :; \
	else \
		echo "*** No Chromium was found and it can't be installed from here: browser tests are SKIPPED. ***"; \
		echo "*** On Debian: sudo apt-get install chromium-headless-shell                             ***"; \
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

# Web processes killed 200 times while people write, and workers forty times while they rank; the suite
# does it ten times and three. Once on the database that is named, SQLite if none is, and once on a
# PostgreSQL of its own; by twenties, each of which is added to tests/LONG_RUNS.md when it is done.
KILLS ?= 200
WORKER_KILLS ?= 40
TWENTY := LONG_RUN=1 KILLS=20 $(PY) -m pytest
TWENTIES = for kills in $$(seq 20 20 $(KILLS)); do $(TWENTY) tests/faults/test_killed_server.py || exit 1; done; \
	for kills in $$(seq 20 20 $(WORKER_KILLS)); do $(TWENTY) tests/arsenal/test_killed_workers.py || exit 1; done
faults: setup
	$(TWENTIES)
	$(PY) -m tests.bench.postgres sh -c '$(TWENTIES)'

# Fifty who save and two hundred who look, for a minute, on the same two databases.
CROWD ?= 60
crowd: setup
	CROWD=$(CROWD) $(PY) -m pytest tests/faults/test_crowd.py
	CROWD=$(CROWD) $(PY) -m tests.bench.postgres $(PY) -m pytest tests/faults/test_crowd.py

# A synthetic chain on a PostgreSQL of its own, every page opened by twenty people at once; SCALE=0.1 is
# a tenth of it. Numbers go to tests/bench/RESULTS.md, page by page to tests/load/REPORT.md.
load: setup
	@$(PY) -m tests.load
	@$(PY) -m tests.bench.results

# The suite sends 2,000 cases, the same ones always; this draws others each time, for an hour or two,
# and adds each 5,000 to tests/LONG_RUNS.md as they are done.
fuzz: setup
	$(PY) -m tests.fuzz $${FUZZ:-100000}

# Every page at three sizes, light and dark, into var/screens (or SCREENSHOTS); some with PAGES=gaps,sides.
screenshots: setup browser
	@ONLY="$(PAGES)" README="$(README)" $(PY) -m pytest -s -q tests/browser/screens.py

# By branch, without the browser; totals and what is missing, with reasons, go to tests/COVERAGE.md, the
# sources with their lines marked to var/coverage. Compiled kernels can't be seen: they run first in
# plain Python, each by the small case that warms it, and by a few tests where that doesn't come.
UNCOMPILED := tests/physics/test_motion.py tests/physics/test_unbalanced.py \
	-k "test_motion or slips_again or lifts or pendulum or swings"
coverage: setup
	@rm -f var/coverage.data*
	NUMBA_DISABLE_JIT=1 $(PY) -m coverage run manage.py warm
	@$(PY) -m coverage combine --quiet
	NUMBA_DISABLE_JIT=1 $(PY) -m pytest $(UNCOMPILED) --cov --cov-append --cov-report=
	$(PY) -m pytest -n $(WORKERS) --dist loadfile --no-loadscope-reorder -m "not bench and not browser" \
		--cov --cov-append --cov-report=html:var/coverage
	@$(PY) -m coverage json --quiet -o var/coverage.json
	@$(PY) -m tests.coverage_report

# Tools that neither the site nor its tests need, in a place of their own.
var/.tools:
	@mkdir -p var
	@test -x $(PY) && $(PY) -m venv var/tools || $(PYTHON) -m venv var/tools
	@var/tools/bin/python -m pip install --quiet --disable-pip-version-check uv==0.13.9 pip-audit==2.10.1 cosmic-ray==8.7.0
	@touch $@

# Each small break of one module of physics, held against the tests of that module, in a copy of what is
# committed; some minutes. MUTANTS=200 tries so many of them, always the same ones. The score goes to
# tests/physics/MUTATION.md, survivors to var/mutation.
MODULE ?= layout
MUTANTS ?= 100000
TESTS_OF_body := test_drill.py
MUTATED := $(CURDIR)/var/mutation/$(MODULE)
SOCKET := /tmp/hookwright-mutants-$(MODULE).socket
mutation: setup var/.tools
	@rm -rf $(MUTATED) $(SOCKET) && mkdir -p $(MUTATED)/tree && git archive HEAD | tar -x -C $(MUTATED)/tree
	@printf '[cosmic-ray]\nmodule-path = "physics/%s.py"\ntimeout = 600.0\nexcluded-modules = []\ntest-command = "%s"\n\n[cosmic-ray.distributor]\nname = "local"\n' \
		"$(MODULE)" "$(CURDIR)/$(PY) -S -E $(CURDIR)/tests/physics/mutants.py ask $(SOCKET)" > $(MUTATED)/config.toml
	@cd $(MUTATED)/tree && tools=$(CURDIR)/var/tools/bin && mutants="$(CURDIR)/$(PY) -m tests.physics.mutants" && \
		export NUMBA_CACHE_DIR=$(MUTATED)/numba NUMBA_DISABLE_JIT=$(if $(filter motion,$(MODULE)),1,0) && \
		{ $$mutants serve $(SOCKET) $(addprefix tests/physics/,$(or $(TESTS_OF_$(MODULE)),test_$(MODULE).py)) > ../tests.txt 2>&1 & } && \
		trap "kill $$!; rm -f $(SOCKET)" EXIT && until test -S $(SOCKET); do sleep 0.2; done && \
		$$tools/cosmic-ray baseline ../config.toml && $$tools/cosmic-ray init --force ../config.toml ../session.sqlite && \
		$$mutants choose ../session.sqlite $(MUTANTS) > ../score.txt && \
		$$tools/cosmic-ray exec ../config.toml ../session.sqlite && \
		$$tools/cr-report --show-diff --surviving-only ../session.sqlite > ../survivors.txt && \
		$$mutants score ../session.sqlite >> ../score.txt
	@cat $(MUTATED)/score.txt
	@{ echo; echo "## $(MODULE), $$(date -I), $$(git rev-parse --short HEAD)"; echo; sed 's/^/    /' $(MUTATED)/score.txt; } >> tests/physics/MUTATION.md

# Newest versions within the lists of pyproject.toml, with the hashes of all their files.
pins: var/.tools
	@printf '%s\n' "# Every package with its exact version and hashes, for pip; made by make pins from the" \
		"# lists of pyproject.toml, which say what is wanted. Don't edit this file." > var/pins.txt
	@var/tools/bin/uv pip compile pyproject.toml --group checked --universal --python-version 3.11 \
		--generate-hashes --no-annotate --no-header --quiet $(PINS) --output-file var/pins-new.txt
	@cat var/pins.txt var/pins-new.txt > requirements.txt

# Fails, in words, where the list of known faults can't be reached: silence would look like safety.
audit: var/.tools
	@var/tools/bin/pip-audit --strict --require-hashes --disable-pip -r requirements.txt --timeout 20 || { \
		echo "*** Not audited, or something was found: see above. The list of faults is asked of pypi.org. ***"; \
		exit 1; }

# What failed last time, one test after the other; fails where nothing had.
test-again: setup
	$(PY) -m pytest --last-failed --last-failed-no-failures none $(if $(ONLY),-m "$(ONLY)")

test: setup browser printing $(if $(filter yes,$(CHECKS)),lint types templates)
	$(PY) -m pytest -n $(WORKERS) --dist loadfile --no-loadscope-reorder $(if $(ONLY),-m "$(ONLY)")
