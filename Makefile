# Everything a stranger needs: `make demo` and `make test`.
.DEFAULT_GOAL := help
PY ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.ready
# One BLAS thread: small problems run faster and timings stay comparable.
export OPENBLAS_NUM_THREADS := 1
export OMP_NUM_THREADS := 1
export MKL_NUM_THREADS := 1

.PHONY: help setup demo serve test check bench truth words lock format clean

help:  ## list the targets
	@grep -E '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 10

setup: $(STAMP)  ## .venv with everything; leaves .venv/bin/evenground ready

$(STAMP): requirements/lock.txt requirements/installer.txt pyproject.toml
	@test -x $(BIN)/python || $(PY) -m venv $(VENV)
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/installer.txt
	@VIRTUAL_ENV=$(VENV) $(BIN)/uv pip install --quiet --require-hashes -r requirements/lock.txt
	@VIRTUAL_ENV=$(VENV) $(BIN)/uv pip install --quiet --no-deps --no-build-isolation --editable .
	@touch $(STAMP)

demo: setup  ## the whole job on an invented farm, written to demo/
	@$(BIN)/evenground demo demo

serve: setup  ## the app in the browser, on this machine, with the invented demo trial
	@$(BIN)/evenground serve

test: setup  ## all tests; what could not run is listed at the end
	@$(BIN)/python -m pytest -q -n 2

check: setup  ## format, lint, types, layers, tests, doctests
	@$(BIN)/ruff format --check .
	@$(BIN)/ruff check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports
	@$(BIN)/python -m pytest -q -n 2

bench: setup  ## side by side with general-purpose peers, one run, medians
	@$(BIN)/python -m benchmarks

words: setup  ## find every string of the app for translation, and renew the catalogues
	@$(BIN)/python -m evenground.web.catalogue

truth: setup  ## simulation tables of docs/truth.md (full size: long)
	@$(BIN)/python -m tests.truth --write docs/truth.md

lock: setup  ## renew the hashed lock file
	@$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-annotate --no-header --group dev pyproject.toml -o requirements/lock.txt

format: setup  ## format the code
	@$(BIN)/ruff format . && $(BIN)/ruff check --fix .

clean:  ## remove what make made
	rm -rf $(VENV) demo .mypy_cache .ruff_cache .import_linter_cache
