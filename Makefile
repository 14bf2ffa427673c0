# Two commands do everything:   make demo   |   make test
# Needed: git, make, and Python 3.11 or newer with pip. Nothing is installed outside this folder.
PY  ?= python3
UV  := .tools/bin/uv
BIN := .venv/bin
export UV_PYTHON_DOWNLOADS = never
unexport PYTHONDONTWRITEBYTECODE
export OMP_NUM_THREADS ?= 2
export OPENBLAS_NUM_THREADS ?= 1
JOBS := metal sand-core alumina
HALF := $(addprefix tests/,cards cli files geometry nature physics statistics stations)

.PHONY: demo test check format kernels lock components soak day clean help
help:
	@echo "make demo        install, then run the example orders and say what came out"
	@echo "make test        install, then run all tests"
	@echo "make check       format, lint, types, import rules, fast tests"
	@echo "make kernels     note anew which kernels are compiled ahead"
	@echo "make soak        try hostile files, kills, full disks and damaged ledgers for 45 minutes (SOAK=\"--seconds 600 --seed 5\")"
	@echo "make day         run a shop for 24 hours, each in some seconds, and count what it leaves behind (DAY=\"--hours 6\")"
	@echo "make components  list what the program is made of, as CycloneDX"
	@echo "make bench-NAME  run one benchmark: $(patsubst benchmarks/%.py,%,$(wildcard benchmarks/*.py))"

demo: .venv/.ready
	@mkdir -p demo
	@echo "planning $(words $(JOBS)) orders side by side: $(JOBS)"
	@for job in $(JOBS); do \
	  SAGGER_HOME=demo/ledger $(BIN)/sagger plan examples/order-$$job.toml --into demo/$$job \
	    >demo/$$job.txt 2>demo/$$job.log & \
	  runs="$$runs $$job:$$!"; \
	done; \
	for run in $$runs; do \
	  job=$${run%:*}; echo; echo "== examples/order-$$job.toml"; \
	  wait $${run#*:} || { cat demo/$$job.log; failed=1; }; cat demo/$$job.txt; \
	done; [ -z "$$failed" ]
	@echo; echo "Look at demo/metal/traveller.pdf, demo/metal/plan.json and demo/metal/layers/"

test: .venv/.ready-dev
	@$(BIN)/pytest -n 2 --dist loadscope --no-loadscope-reorder

# Two halves of the fast tests and the types go side by side: collecting the tests is most of their time.
check: .venv/.ready-dev
	@$(BIN)/ruff format -q --check src tests benchmarks examples
	@$(BIN)/ruff check -q src tests benchmarks examples
	@{ $(BIN)/mypy && $(BIN)/lint-imports --no-logo; } >build/types.txt 2>&1 & types=$$!; \
	$(BIN)/pytest -m "not slow" $(HALF) >build/half.txt 2>&1 & half=$$!; \
	$(BIN)/pytest -m "not slow" $(addprefix --ignore=,$(HALF)) || failed=1; \
	wait $$half || failed=1; cat build/half.txt; \
	wait $$types || { cat build/types.txt; failed=1; }; [ -z "$$failed" ]

format: .venv/.ready-dev
	@$(BIN)/ruff format -q src tests benchmarks examples
	@$(BIN)/ruff check -q --fix src tests benchmarks examples

bench-%: .venv/.ready-dev
	@$(BIN)/python benchmarks/$(subst -,_,$*).py

kernels: .venv/.ready-dev
	@rm -rf build/unwarmed && mkdir -p build/unwarmed/kernels
	@NUMBA_CACHE_DIR=build/unwarmed/kernels SAGGER_HOME=build/unwarmed $(BIN)/python tests/record_kernels.py

soak: .venv/.ready-dev
	@mkdir -p build
	@PYTHONPATH=src .ci/with-postgres $(BIN)/python tests/soak.py $(SOAK) | tee build/soak.json

day: .venv/.ready-dev
	@mkdir -p build
	@PYTHONPATH=src $(BIN)/python tests/day.py $(DAY) | tee build/day.json

components: .venv/.ready
	@$(BIN)/python docs/components.py build/components.cdx.json && echo build/components.cdx.json

lock: $(UV)
	@echo "uv==$$($(UV) --version | cut -d' ' -f2)" | $(UV) pip compile -q --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header - -o requirements-uv.lock
	@$(UV) pip compile -q --universal --python-version 3.11 --generate-hashes --no-emit-index-url pyproject.toml -o requirements.lock
	@$(UV) pip compile -q --universal --python-version 3.11 --generate-hashes --no-emit-index-url --extra dev pyproject.toml -o requirements-dev.lock

clean:
	@rm -rf .venv .tools build demo

$(UV):
	@$(PY) -c 'import sys; sys.exit("Python 3.11 or newer is needed" if sys.version_info < (3, 11) else 0)'
	@$(PY) -m pip install -q --disable-pip-version-check --root-user-action=ignore --no-deps --require-hashes \
	  --target .tools -r requirements-uv.lock

.venv/bin/python: | $(UV)
	@$(UV) venv -q --clear --python $(PY) .venv

.venv/.ready: requirements.lock pyproject.toml | .venv/bin/python
	@echo "installing into .venv and compiling (about a minute the first time)"
	@$(UV) pip install -q -p $(BIN)/python --require-hashes -r requirements.lock
	@$(UV) pip install -q -p $(BIN)/python --no-deps -e .
	@$(BIN)/sagger warm
	@touch $@

.venv/.ready-dev: requirements-dev.lock .venv/.ready
	@mkdir -p build
	@$(UV) pip install -q -p $(BIN)/python --require-hashes -r requirements-dev.lock
	@$(BIN)/sagger warm --all
	@touch $@
