PYTHON ?= python3
VENV := .venv
PY := $(VENV)/bin/python

.PHONY: setup
setup: $(VENV)/.installed

$(VENV)/.installed: requirements.txt
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo "Python 3.11 or newer is needed."; exit 1; }
	@test -x $(PY) || $(PYTHON) -m venv $(VENV)
	$(PY) -m pip install --quiet --disable-pip-version-check -r requirements.txt
	@touch $@
