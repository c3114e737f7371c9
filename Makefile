# make run and make test are all that is needed; each makes what it needs.

PYTHON ?= python3
PORT ?= 8080
VENV := .venv
BIN := $(VENV)/bin

.PHONY: run test lint types contracts unit openapi words bench audit mutants steady endure fuzz clean

run: $(VENV)/installed
	$(BIN)/quoter serve --demo --port $(PORT) --book rates/ballyquarn --book rates/peddrick-mills

test: lint types contracts unit

lint: $(VENV)/installed-dev
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .

types: $(VENV)/installed-dev
	$(BIN)/mypy

contracts: $(VENV)/installed-dev
	$(BIN)/lint-imports --no-logo

WORKERS ?= auto

unit: $(VENV)/installed-dev
	$(BIN)/pytest -n $(WORKERS) --maxprocesses 8 --dist worksteal tests/engine --cov=quoter.engine --cov-report=term:skip-covered --cov-fail-under=95
	$(BIN)/pytest -n $(WORKERS) --maxprocesses 8 --dist worksteal tests --ignore=tests/engine

openapi: $(VENV)/installed
	$(BIN)/python -m examples
	$(BIN)/quoter openapi > openapi/openapi.json

words: $(VENV)/installed-dev
	$(BIN)/python -m quoter.words.extraction

bench: $(VENV)/installed-dev
	$(BIN)/python -m benchmarks

audit: $(VENV)/installed-dev
	$(BIN)/python .ci/audit.py

mutants: $(VENV)/installed-dev
	$(BIN)/python .ci/mutants.py $(ONLY)

RUNS ?= 20

steady: $(VENV)/installed-dev
	$(BIN)/python .ci/steady.py --runs $(RUNS) --workers $(WORKERS) $(ONLY)

ROUNDS ?= 200
CONNECTIONS ?= 10000

endure: $(VENV)/installed-dev
	$(BIN)/python -m tests.endurance --rounds $(ROUNDS) $(if $(SEED),--seed $(SEED))
	CONNECTIONS=$(CONNECTIONS) $(BIN)/pytest -s -rs tests/wire/test_many_connections.py

EXAMPLES ?= 100

fuzz: $(VENV)/installed-dev
	$(BIN)/python -m tests.api.fuzzing --examples $(EXAMPLES) $(if $(SEED),--seed $(SEED))

clean:
	rm -rf $(VENV) build dist .coverage .hypothesis .mypy_cache .pytest_cache .ruff_cache .schemathesis .import_linter_cache

$(VENV)/created:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
		(echo "This needs Python 3.11 or later; make PYTHON=python3.12 run chooses another." >&2; exit 1)
	@$(PYTHON) -c 'import ensurepip' 2>/dev/null || \
		(echo "This needs Python's venv module; on Debian and Ubuntu: sudo apt-get install python3-venv" >&2; exit 1)
	$(PYTHON) -m venv $(VENV)
	touch $@

$(VENV)/installed: $(VENV)/created pyproject.toml
	$(BIN)/python -m pip install --quiet --editable .
	touch $@

$(VENV)/installed-dev: $(VENV)/created pyproject.toml
	$(BIN)/python -m pip install --quiet --editable '.[dev]'
	touch $@ $(VENV)/installed
