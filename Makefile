# `make demo` and `make test` are all a newcomer needs; both make .venv first.
#
#   make demo       the demo build, on the page
#   make test       every test
#   make lint       ruff, mypy --strict, the import contracts
#   make oracles    the large solver that only tests ask for a second opinion
#   make benchmark  the numbers to reach, each beside its peer
#   make lock       pin anew what is installed (then commit requirements.lock)
#   make wheel      a wheel in dist/ that runs without this folder
#   make pages      the pages that are made from the code
#   make pictures   the pictures of the page (needs Chromium)
#   make clean      take away all that make made
#
# PYTHON=python3.12 chooses the interpreter, TESTS=tests/unit a part of the tests.

SHELL := /bin/sh
VENV := .venv
BIN := $(VENV)/bin
TESTS := tests
WORKERS := auto

# The first interpreter that is new enough; on a Mac `python3` alone may be an old one.
ifndef PYTHON
PYTHON := $(shell for p in python3 python3.14 python3.13 python3.12 python3.11 python; do \
	"$$p" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && \
	{ echo "$$p"; break; }; done)
endif

.PHONY: demo test lint oracles benchmark lock wheel pages pictures clean help

demo: $(VENV)/run.stamp
	$(BIN)/bedplate demo

test: $(VENV)/dev.stamp
	$(BIN)/python -m pytest -n $(WORKERS) -rs $(TESTS)

lint: $(VENV)/dev.stamp
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

oracles: $(VENV)/dev.stamp
	$(INSTALL) --no-build-isolation -e '.[oracles]'

benchmark: $(VENV)/dev.stamp
	$(INSTALL) --no-build-isolation -e '.[bench]' || \
	  echo "NOT INSTALLED: opentorsion; torsion is measured beside dense algebra instead." >&2
	$(BIN)/python -m benchmarks

help:
	@sed -n 's/^#   //p' Makefile

# What runs is pinned by requirements.lock, and installed again only when it or pyproject.toml changed.
INSTALL = $(BIN)/python -m pip install --quiet --disable-pip-version-check -c requirements.lock

$(VENV)/made.stamp:
	@test -n "$(PYTHON)" || { \
	  echo "Bedplate needs Python 3.11 or newer, and none was found on the path."; \
	  echo "Install one, then say which: make demo PYTHON=/path/to/python3.12"; exit 1; }
	@"$(PYTHON)" -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { \
	  echo "Bedplate needs Python 3.11 or newer; $(PYTHON) is" \
	    "$$($(PYTHON) -c 'import platform; print(platform.python_version())')."; exit 1; }
	@"$(PYTHON)" -c 'import ensurepip' 2>/dev/null || { \
	  echo "This Python cannot make a virtual environment."; \
	  echo "On Debian: apt-get install python3-venv"; exit 1; }
	"$(PYTHON)" -m venv $(VENV)
	@touch $@

$(VENV)/run.stamp: $(VENV)/made.stamp pyproject.toml requirements.lock
	$(INSTALL) 'setuptools>=77'
	$(INSTALL) --no-build-isolation -e .
	@touch $@

$(VENV)/dev.stamp: $(VENV)/run.stamp
	$(INSTALL) --no-build-isolation -e '.[dev,cluster]'
	@touch $@

# Made with the oldest Python we support, so that every newer one finds the same versions.
lock:
	rm -rf $(VENV)-lock
	"$(PYTHON)" -m venv $(VENV)-lock
	$(VENV)-lock/bin/python -m pip install --quiet --disable-pip-version-check 'setuptools>=77'
	$(VENV)-lock/bin/python -m pip install --quiet --disable-pip-version-check \
	  --no-build-isolation -e '.[dev,cluster]'
	{ sed -n '/^#/p' requirements.lock; \
	  $(VENV)-lock/bin/python -m pip freeze --all --exclude pip --exclude-editable; } \
	  > requirements.new
	mv requirements.new requirements.lock
	rm -rf $(VENV)-lock

wheel: $(VENV)/dev.stamp
	$(BIN)/python -m build --wheel --no-isolation

pages: $(VENV)/dev.stamp
	$(BIN)/python docs/make_engine_file.py
	$(BIN)/python docs/make_commands.py
	$(BIN)/python docs/play.py docs/tutorial.md

pictures: $(VENV)/dev.stamp
	$(BIN)/python docs/make_pictures.py

clean:
	rm -rf $(VENV) $(VENV)-lock build dist src/*.egg-info
	rm -rf .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
