# Two commands do everything:   make demo   |   make test
# Needed: git, make, and Python 3.11 or newer with pip. Nothing is installed outside this folder.
PY  ?= python3
UV  := .tools/bin/uv
BIN := .venv/bin
export UV_PYTHON_DOWNLOADS = never
unexport PYTHONDONTWRITEBYTECODE
export OMP_NUM_THREADS ?= 2
export OPENBLAS_NUM_THREADS ?= 1

.PHONY: demo test check format docs lock clean help
help:
	@echo "make demo        install, then run the example orders and say what came out"
	@echo "make test        install, then run all tests"
	@echo "make check       format, lint, types, import rules, fast tests"
	@echo "make bench-NAME  run one benchmark: $(patsubst benchmarks/%.py,%,$(wildcard benchmarks/*.py))"

demo: .venv/.ready
	@mkdir -p demo
	@for job in metal sand-core alumina; do \
	  echo; echo "== examples/order-$$job.toml"; \
	  SAGGER_HOME=demo/ledger $(BIN)/sagger plan examples/order-$$job.toml --into demo/$$job || exit 1; \
	done
	@echo; echo "Look at demo/metal/traveller.pdf, demo/metal/plan.json and demo/metal/layers/"

test: .venv/.ready-dev
	@$(BIN)/pytest -n 2 --dist loadscope

check: .venv/.ready-dev
	@$(BIN)/ruff format -q --check src tests benchmarks examples
	@$(BIN)/ruff check -q src tests benchmarks examples
	@$(BIN)/mypy
	@$(BIN)/lint-imports --no-logo >build/imports.txt 2>&1 || { cat build/imports.txt; exit 1; }
	@$(BIN)/pytest -n 2 -m "not slow"

format: .venv/.ready-dev
	@$(BIN)/ruff format -q src tests benchmarks examples
	@$(BIN)/ruff check -q --fix src tests benchmarks examples

bench-%: .venv/.ready-dev
	@$(BIN)/python benchmarks/$*.py

lock: $(UV)
	@$(UV) pip compile -q --universal --python-version 3.11 --generate-hashes --no-emit-index-url pyproject.toml -o requirements.lock
	@$(UV) pip compile -q --universal --python-version 3.11 --generate-hashes --no-emit-index-url --extra dev pyproject.toml -o requirements-dev.lock

clean:
	@rm -rf .venv .tools build demo

$(UV):
	@$(PY) -c 'import sys; sys.exit("Python 3.11 or newer is needed" if sys.version_info < (3, 11) else 0)'
	@$(PY) -m pip install -q --disable-pip-version-check --root-user-action=ignore --target .tools "uv>=0.9"

.venv/bin/python: | $(UV)
	@$(UV) venv -q --clear --python $(PY) .venv

.venv/.ready: requirements.lock pyproject.toml | .venv/bin/python
	@echo "installing into .venv (about a minute the first time)"
	@$(UV) pip install -q -p $(BIN)/python --require-hashes -r requirements.lock
	@$(UV) pip install -q -p $(BIN)/python --no-deps -e .
	@$(BIN)/sagger warm
	@touch $@

.venv/.ready-dev: requirements-dev.lock .venv/.ready
	@mkdir -p build
	@$(UV) pip install -q -p $(BIN)/python --require-hashes -r requirements-dev.lock
	@touch $@
