# Everything runs in a virtual environment of its own, .venv; re-running does only what is missing.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
DEMO := src/sunpantry/examples/apiary-hut.toml
OUT := out/demo

.PHONY: demo test check bench serve lock clean

$(VENV)/.run-ready: requirements/run.txt pyproject.toml
	@test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	@echo "Installing what Sunpantry needs (the first time takes a minute or two) ..."
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/run.txt
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $@

$(VENV)/.dev-ready: requirements/dev.txt $(VENV)/.run-ready
	@echo "Installing what the tests and checks need ..."
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/dev.txt
	@touch $@

# Published battery models to hold our discharge curves against; beside the rest, because the solver
# has no wheel for every machine (none for Linux on ARM).
$(VENV)/.pybamm-ready: requirements/pybamm.txt $(VENV)/.dev-ready
	@if [ "$$(uname -sm)" = "Linux x86_64" ]; then \
	  echo "Installing PyBaMM for the battery tests (0.5 GB) ..."; \
	  $(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/pybamm.txt; \
	else \
	  echo "No wheel of PyBaMM's solver for $$(uname -sm): the tests that run it will be skipped."; \
	fi
	@touch $@

demo: $(VENV)/.run-ready
	@mkdir -p $(OUT)
	@$(BIN)/python tools/demo.py $(DEMO) $(OUT)

test: $(VENV)/.pybamm-ready
	@tools/ensure_system_packages.sh
	@$(BIN)/python -m pytest -n 2 --dist loadfile

check: $(VENV)/.dev-ready
	@$(BIN)/ruff format --check .
	@$(BIN)/ruff check .
	@$(BIN)/mypy

bench: $(VENV)/.dev-ready
	@$(BIN)/python -m benchmarks.run

serve: $(VENV)/.run-ready
	@$(BIN)/sunpantry open --design $(DEMO)

# Pin the exact tested set again, after a change of dependencies.
lock: $(VENV)/.dev-ready
	@$(BIN)/python tools/lock_requirements.py

clean:
	rm -rf $(VENV) out .mypy_cache .ruff_cache .pytest_cache .hypothesis
