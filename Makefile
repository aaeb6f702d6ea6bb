# ohmbook's one gate. `make help` lists what there is.
# Needs python3 (3.11 or later) with venv; everything else is set up in .venv, nothing outside.

SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help

# On matrices as small as ours, threads of linear algebra wait for each other.
export OPENBLAS_NUM_THREADS ?= 1

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --quiet --disable-pip-version-check --no-input
RUN_STAMP := $(VENV)/.run-stamp
TEST_STAMP := $(VENV)/.test-stamp
BENCH_STAMP := $(VENV)/.bench-stamp
CODE := src tests benchmarks build_page.py

.PHONY: help install demo open test browser check format bench docs lock clean

help: ## this list
	@grep -hE '^[a-z]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z]+):.*## /  make \1\t/' | expand -t 18

install: $(RUN_STAMP) ## set up .venv with ohmbook in it

demo: $(RUN_STAMP) ## the whole job on the built-in board: tables, findings, figures in out/demo
	@$(BIN)/ohmbook demo

open: $(RUN_STAMP) ## the bench page, in the browser, on the demo's notebook
	@$(BIN)/ohmbook open

test: $(TEST_STAMP) browser check ## check, then every test; sets up what it needs
	@$(BIN)/python -m pytest -n 2

# The page is tested in the system's own Chromium, headless.
browser:
	@command -v chromium >/dev/null || command -v chromium-browser >/dev/null || \
	command -v google-chrome >/dev/null || { \
		if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
			echo "Installing Chromium for the page's tests ..."; \
			apt-get update -qq && DEBIAN_FRONTEND=noninteractive \
				apt-get install -y -qq --no-install-recommends chromium >/dev/null; \
		else \
			echo "The page's tests need Chromium; install it (on Debian: the package chromium)." >&2; \
			exit 1; \
		fi; }

check: $(TEST_STAMP) ## format, lint, strict types
	@$(BIN)/ruff format --check $(CODE)
	@$(BIN)/ruff check $(CODE)
	@$(BIN)/mypy

format: $(TEST_STAMP) ## format the code and mend what the linter can mend
	@$(BIN)/ruff format $(CODE)
	@$(BIN)/ruff check --fix $(CODE)

bench: $(BENCH_STAMP) ## every benchmark that has a main, one after another
	@for file in $$(grep -l '^def main(' benchmarks/*.py); do \
		name=$$(basename "$$file" .py); \
		echo "== benchmarks.$$name"; $(BIN)/python -m "benchmarks.$$name"; \
	done

docs: $(TEST_STAMP) browser ## make the README's printed blocks and all pictures anew
	@$(BIN)/python -m docs.refresh

lock: $(TEST_STAMP) ## make the locks anew from pyproject.toml, hashes and all
	@$(PIP) install uv
	@for room in run npm test bench; do \
		case $$room in \
			run) extras="--extra build" ;; \
			npm) extras="--extra build --extra npm" ;; \
			test) extras="--extra build --extra test" ;; \
			bench) extras="--extra build --extra test --extra bench" ;; \
		esac; \
		$(BIN)/uv pip compile --quiet --upgrade --universal --generate-hashes --no-header --no-annotate \
			--no-emit-index-url --no-emit-find-links $$extras \
			pyproject.toml --output-file requirements/$$room.txt; \
	done
	@npm install --package-lock-only

clean: ## remove .venv and everything that can be made again
	@rm -rf $(VENV) out build dist node_modules src/ohmbook/web/static/vendor .mypy_cache .ruff_cache .pytest_cache .hypothesis

# The stamps lie inside .venv, so that a removed .venv is made anew. A stamp is written last: an
# install that was interrupted is done again.
$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || { \
		echo "ohmbook needs Python 3.11 or later; $(PYTHON) is" \
			"$$($(PYTHON) --version 2>/dev/null || echo missing)." \
			"Name another with: make PYTHON=python3.12 ..." >&2; exit 1; }
	@echo "Setting up $(VENV) ..."
	@$(PYTHON) -m venv --clear $(VENV) || { \
		echo "Python's venv module is missing or broken (on Debian: the package" \
			"python3-venv)." >&2; rm -rf $(VENV); exit 1; }

# The page's libraries come through npm; where there is none, a package brings it.
$(RUN_STAMP): requirements/run.txt pyproject.toml package-lock.json build_page.py | $(BIN)/python
	@echo "Installing what ohmbook runs on ..."
	@$(PIP) install --require-hashes -r requirements/run.txt
	@command -v npm >/dev/null || $(PIP) install --require-hashes -r requirements/npm.txt
	@$(PIP) install --no-deps --no-build-isolation -e .
	@touch $@

$(TEST_STAMP): requirements/test.txt $(RUN_STAMP)
	@echo "Installing what its tests need ..."
	@$(PIP) install --require-hashes -r requirements/test.txt
	@touch $@

$(BENCH_STAMP): requirements/bench.txt $(TEST_STAMP)
	@echo "Installing what the benchmarks compare with ..."
	@$(PIP) install --require-hashes -r requirements/bench.txt
	@touch $@
