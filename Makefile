# Everything a developer or an operator of one machine runs. `make` alone lists it.

SHELL := bash
.DEFAULT_GOAL := help
PYTHON ?= python3
HOST ?= 127.0.0.1
PORT ?= 8000
BIN := .venv/bin
MANAGE := $(BIN)/python manage.py
DATA := $(or $(DATA_DIR),var)
STATIC_SOURCES := $(shell find portal jobs compliance -path '*/static/*' -type f 2>/dev/null)
STAGES := lint format-check imports migrations templates types test-postgresql test-sqlite test-browser
export PIP_DISABLE_PIP_VERSION_CHECK := 1
export PYTHON

.PHONY: help
help: ## List the targets
	@awk -F ':.*## ' '/^[a-z-]+:.*## / {printf "make %-16s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

# --- The portal ----------------------------------------------------------------------------

.PHONY: demo
demo: prepared ## Serve the portal with an invented firm at http://127.0.0.1:8000 (PORT=… HOST=… DATA_DIR=…)
	@$(MANAGE) load_demo_firm
	@$(MANAGE) serve --host $(HOST) --port $(PORT) --show-demo-sign-ins

.PHONY: serve
serve: prepared ## Serve the portal with your own data (PORT=… HOST=… DATA_DIR=…)
	@$(MANAGE) serve --host $(HOST) --port $(PORT)

.PHONY: prepared
prepared: .venv/.installed $(DATA)/.static-collected
	@$(MANAGE) migrate --verbosity 0

$(DATA)/.static-collected: .venv/.installed $(STATIC_SOURCES)
	@mkdir -p $(DATA)
	@$(MANAGE) collectstatic --noinput --clear --verbosity 0
	@touch $@

# --- Installation --------------------------------------------------------------------------

.PHONY: system system-test
system:
	@.ci/bootstrap runtime
system-test:
	@.ci/bootstrap test

.venv/bin/python: | system
	@echo "Making .venv"
	@$(PYTHON) -m venv .venv

.venv/.installed: pyproject.toml constraints.txt | system .venv/bin/python
	@echo "Installing the portal's libraries into .venv (a few minutes the first time)"
	@$(BIN)/python -m pip install --quiet --constraint constraints.txt --editable .
	@touch $@

.venv/.installed-dev: pyproject.toml constraints.txt | system-test .venv/bin/python
	@echo "Installing the portal's and the developers' libraries into .venv (a few minutes the first time)"
	@$(BIN)/python -m pip install --quiet --constraint constraints.txt --editable '.[dev]'
	@touch .venv/.installed $@

.PHONY: constraints
constraints: ## Resolve all dependencies anew, to their newest allowed versions, into constraints.txt
	@rm -rf .venv-new && $(PYTHON) -m venv .venv-new
	@.venv-new/bin/python -m pip install --quiet '.[dev]'
	@head -n 2 constraints.txt > constraints.new
	@.venv-new/bin/python -m pip freeze --exclude refrigerant-compliance-portal >> constraints.new
	@mv constraints.new constraints.txt && rm -rf .venv-new build

# --- Tests ---------------------------------------------------------------------------------

.PHONY: test
test: .venv/.installed-dev ## Run all checks and tests, as continuous integration does
	@services=$$(.ci/services) && eval "$$services" && .ci/test $(STAGES)

.PHONY: proof
proof: .venv/.installed-dev ## Run the long proofs in full
	@services=$$(.ci/services) && eval "$$services" && \
		DATABASE_URL=$$TEST_DATABASE_URL $(BIN)/pytest -m proof -n 2 --hypothesis-profile proof

.PHONY: benchmark
benchmark: .venv/.installed-dev ## Measure what is to be fast, on a machine that does nothing else
	@$(BIN)/pytest --quiet --capture=no tests/benchmarks/bench_*.py

.PHONY: lint format-check imports migrations templates types test-postgresql test-sqlite test-browser
lint: ## Look for mistakes with ruff
	@$(BIN)/ruff check .

format-check: ## Check that ruff format would change nothing
	@$(BIN)/ruff format --check .

imports: ## Check that the rooms depend on each other in one direction
	@$(BIN)/lint-imports

migrations: ## Check that no model has changed without its migration
	@folder=$$(mktemp -d) && trap "rm -rf $$folder" EXIT && \
		env -u DATABASE_URL DATA_DIR=$$folder $(MANAGE) makemigrations --check --dry-run

templates: ## Check the templates' form with djade
	@git ls-files -z 'templates/*.html' | xargs -0 $(BIN)/djade --check --target-version 5.2

types: ## Check the types with mypy
	@$(BIN)/mypy

test-postgresql: ## All tests but the browser's, on PostgreSQL
	@: "$${TEST_DATABASE_URL:?is not set; see .ci/services}"
	@DATABASE_URL=$$TEST_DATABASE_URL $(BIN)/pytest -m "not browser and not proof" -n 2

test-sqlite: ## The tests that touch the database, on SQLite
	@env -u DATABASE_URL $(BIN)/pytest --only-db -m "not browser and not proof" -n 2

test-browser: .venv/.installed-dev ## The tests that drive a browser, on a portal served as make demo does
	@env -u DATABASE_URL $(BIN)/pytest -m browser

.PHONY: format
format: ## Rewrite the code as ruff format and djade want it
	@$(BIN)/ruff check --fix-only --quiet . && $(BIN)/ruff format .
	@git ls-files -z 'templates/*.html' | xargs -0 $(BIN)/djade --target-version 5.2
