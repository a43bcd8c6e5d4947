# make advise: the main job on a worked case. make page: all of it in a browser. make test: the tests. make lint: style and types. make quick: the everyday part. make bench: what it costs. make mutate: whether tests notice a changed rule.
# make thorough: the tests with random things tried as often as was ever asked for.
# make fuzz: hostile files and texts, 100,000 of each kind (make fuzz COUNT=1000 KINDS="csv xlsx" for fewer).
# make oldest: the everyday part of the tests and those of the page with the oldest versions that pyproject.toml allows, in $(VENV)-oldest.
# Each makes its own virtual environment first, in .venv. Another Python: make test PYTHON=python3.12
PYTHON ?= python3
VENV ?= .venv
CASE ?= cases/knob-corner.toml
COUNT ?= 100000
BIN = $(VENV)/bin
PIP = $(BIN)/python -m pip install --quiet --disable-pip-version-check

.PHONY: advise page test lint thorough quick bench mutate fuzz lock oldest clean

advise: $(VENV)/.installed
	$(BIN)/turn-radius advise --case $(CASE)

page: $(VENV)/.installed
	$(BIN)/turn-radius page

test: $(VENV)/.test
	$(BIN)/python -m pytest -n auto

lint: $(VENV)/.test
	$(BIN)/ruff check advisor tests
	$(BIN)/ruff format --check advisor tests
	$(BIN)/mypy

thorough: $(VENV)/.test
	TURN_RADIUS_LONG=1 $(BIN)/python -m pytest -n auto --timeout 3600

QUICK = tests/asked tests/engine tests/formulas tests/ground tests/language tests/rulebase tests/answer/test_cases.py advisor/formulas \
	--ignore tests/engine/test_columns_advice.py \
	--ignore tests/engine/test_hostile_givens.py \
	--ignore tests/formulas/test_correct_on_paper.py \
	--ignore tests/rulebase/test_words.py

quick: $(VENV)/.test
	$(BIN)/python -m pytest -n auto $(QUICK)

bench: $(VENV)/.test
	$(BIN)/python tests/tools/bench.py

mutate: $(VENV)/.test
	$(BIN)/python tests/tools/mutate.py

fuzz: $(VENV)/.test
	$(BIN)/python tests/fuzz.py --count $(COUNT) $(KINDS)

# The newest versions that the tests pass with, each with the hashes of its files.
lock: $(VENV)/.test
	$(BIN)/python tests/tools/lock.py > tests/locked.txt

oldest: $(VENV)-oldest/.test
	$(VENV)-oldest/bin/python -m pytest -n auto $(QUICK) tests/page/test_page.py

$(VENV)-oldest/.test: pyproject.toml tests/tools/oldest.py
	$(PYTHON) -m venv $(VENV)-oldest
	$(PYTHON) tests/tools/oldest.py > $(VENV)-oldest/oldest.txt
	$(VENV)-oldest/bin/python -m pip install --quiet --disable-pip-version-check --requirement $(VENV)-oldest/oldest.txt
	$(VENV)-oldest/bin/python -m pip install --quiet --disable-pip-version-check --no-deps --editable .
	touch $@

$(VENV)/.installed: pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or newer is needed: make PYTHON=python3.11")'
	$(PYTHON) -m venv $(VENV)
	$(PIP) --editable .
	touch $@

$(VENV)/.test: $(VENV)/.installed
	$(PIP) --editable ".[test]"
	touch $@

clean:
	rm -rf $(VENV) $(VENV)-oldest build dist *.egg-info
