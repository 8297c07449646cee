# SPDX-License-Identifier: MIT
# `make demo` and `make test` alone set everything up; `make` lists the rest.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/.ready
OUT := reports/out

DEVICE := ribbed-polypropylene-child
WEARER := demo-child
CHANGE := taller-ribs-thicker-ankle
SAMPLES := $(DEVICE):demo-child bare-two-upright-polypropylene-child:demo-child \
	aluminium-bars-adult:demo-adult carbon-laminate-adult:demo-adult

# A Python that also has what tests/peers/requirements.txt and the extra `fast` name.
BENCH_PYTHON ?= $(BIN)/python

# Two workers on two cores: one thread each.
WORKERS := 2
ONE_THREAD := OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 MKL_NUM_THREADS=1
PYTEST := $(ONE_THREAD) $(BIN)/python -m pytest -n $(WORKERS) --dist worksteal

.DEFAULT_GOAL := help
.PHONY: help setup venv demo test test-slow lint bench benchmarks verification samples surface-mesh lock clean

help: ## list the targets
	@awk -F ':.*## ' '/^[a-z-]+:.*## / {printf "  make %-13s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

setup: $(READY) ## make the virtual environment in .venv (every other target does it by itself)

venv: setup

$(READY): requirements.lock pyproject.toml .ci/setup
	@sh .ci/setup "$(PYTHON)" "$(VENV)"
	@touch $@

demo: $(READY) ## judge a shipped device for an invented child; writes reports/out/demo
	@$(BIN)/stanchion check $(DEVICE) --wearer $(WEARER) --out $(OUT)/demo; status=$$?; \
	test $$status -le 1 || exit $$status; \
	test -s $(OUT)/demo/report.html || { echo "demo: the report is missing" >&2; exit 2; }; \
	echo; echo "Open $(OUT)/demo/report.html"

test: $(READY) ## run the tests, but not the slow ones
	@$(PYTEST)

test-slow: $(READY) ## run the slow tests: fine meshes, whole reports, the installed wheel
	@$(PYTEST) -m slow

lint: $(READY) ## style and types
	@$(BIN)/ruff check .
	@$(BIN)/mypy

bench: $(READY) ## time each part of the way, other libraries beside it where installed
	@$(BENCH_PYTHON) tests/benchmarks/speed.py
	@$(ONE_THREAD) $(BENCH_PYTHON) tests/benchmarks/bench_check.py $(DEVICE) $(WEARER)
	@$(ONE_THREAD) $(BENCH_PYTHON) tests/benchmarks/bench_sweep.py
	@$(BENCH_PYTHON) tests/benchmarks/bench_scordelis.py
	@$(BENCH_PYTHON) tests/benchmarks/bench_growth.py

benchmarks: $(READY) ## write reports/benchmarks.md: what the benchmarks print on this machine
	@$(BENCH_PYTHON) tests/benchmarks/report.py reports/benchmarks.md

verification: $(READY) ## write reports/verification.md: computed beside expected numbers
	@$(BIN)/python tests/verification.py reports/verification.md

samples: $(READY) ## write the sample reports of reports/samples
	@set -e; for pair in $(SAMPLES); do \
		out=reports/samples/$${pair%%:*}; status=0; \
		$(BIN)/stanchion check $${pair%%:*} --wearer $${pair##*:} --out $$out || status=$$?; \
		test $$status -le 1; rm -f $$out/fields.vtu $$out/report.pdf; \
	done
	@$(BIN)/python tests/support/readme_picture.py $(DEVICE) $(WEARER) reports/samples/picture.png
	@status=0; $(BIN)/stanchion compare $(DEVICE) $(CHANGE) --wearer $(WEARER) --out $(OUT)/comparison \
		|| status=$$?; test $$status -le 1
	@$(BIN)/python tests/support/page_picture.py $(OUT)/comparison/compare.html hardest \
		reports/samples/comparison.png

surface-mesh: $(READY) ## write the shipped surface mesh again from its recipe
	@$(BIN)/python -c "from fea.device.meshwriter import write_fitted; \
	write_fitted('$(DEVICE)', '$(WEARER)', 'meshes')"

lock: $(READY) ## renew requirements.lock from pyproject.toml
	@$(BIN)/python -m pip install --quiet uv
	@$(BIN)/uv pip compile --quiet --universal --generate-hashes --no-header --no-annotate \
		--upgrade --extra test pyproject.toml --output-file requirements.lock

clean: ## remove what the other targets made, the virtual environment too
	@rm -rf $(VENV) $(OUT) build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
	@find . -name __pycache__ -type d -prune -exec rm -rf {} +
