# make advise: the main job on a worked case. make test: the tests. Both make their own virtual environment.
PYTHON ?= python3
VENV ?= .venv
BIN = $(VENV)/bin

.PHONY: advise test bench clean

advise: $(VENV)/.installed
	$(BIN)/turn-radius advise --case cases/knob-corner.toml

test: $(VENV)/.test
	$(BIN)/python -m pytest

$(VENV)/.installed: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .
	touch $@

$(VENV)/.test: $(VENV)/.installed pyproject.toml
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e ".[test]"
	touch $@

bench: $(VENV)/.test
	$(BIN)/python tests/bench.py

clean:
	rm -rf $(VENV) build dist *.egg-info
