# Everything a developer needs. On a fresh Debian 12 with python3.11, make and git,
# "make demo" and "make test" do all set-up themselves. "make help" lists the targets.

SHELL := bash
.SHELLFLAGS := -euo pipefail -c
.DELETE_ON_ERROR:
.DEFAULT_GOAL := help

PYTHON ?= python3.11
VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/.ready

# Outside references that the tests compare against; the program itself needs none of them.
REFERENCES := chromium gcc g++ gcc-avr avr-libc libelf-dev libsimavr-dev ngspice sigrok-cli

# Installs Debian packages as root or through sudo, else says what to type.
define apt_install
	if [ "$$(id -u)" = 0 ]; then as_root=; \
	elif command -v sudo >/dev/null; then as_root=sudo; \
	else echo "Please type as root: apt-get install $(1)" >&2; exit 1; fi; \
	$$as_root apt-get update -qq; \
	$$as_root env DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends $(1)
endef

# The page that the installation builds from web/.
PAGE := src/lampwright/page/built/index.html
WEB := $(filter-out web/node_modules,$(wildcard web/* web/src/*))
INSTALL := $(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .

# A second emulator of the chip, in Node, for tests only.
EMULATOR := tests/published/avr8js/node_modules/.package-lock.json

# The checker of the page's accessibility, for tests only.
AXE := tests/page/axe/node_modules/.package-lock.json

.PHONY: help demo test sweep sample references emulator lint docs bench lock clean

help: ## list the targets
	@sed -n 's/^\([a-z]*\):.*## /\1\t/p' $(MAKEFILE_LIST) | expand -t 8

demo: $(READY) ## set up, then check, build and rehearse Frost Gate into out/
	$(BIN)/lampwright demo --out out

test: $(READY) $(PAGE) references $(EMULATOR) $(AXE) lint ## set up, then run every check and test
	$(BIN)/pytest -n 2 -m "not slow"

sweep: $(READY) $(PAGE) references $(EMULATOR) $(AXE) ## run the long sweeps: tens of thousands of random looks, thousands of resets
	$(BIN)/pytest -n 2 -m slow

sample: $(READY) $(PAGE) references $(EMULATOR) $(AXE) ## run the part of the long sweeps that fits the limit of continuous integration
	$(BIN)/pytest -n 2 -m "slow and not long"

lint: $(READY) ## style, types and import directions
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

docs: $(READY) ## write the pages of the checks to docs/checks/
	$(BIN)/python -m lampwright.findings.publish docs/checks

bench: $(READY) ## run the benchmarks, one after the other
	@for file in benchmarks/*.py; do echo "== $$file"; $(BIN)/python "$$file"; done

references: ## install the Debian packages that tests compare against
	@missing=; \
	for package in $(REFERENCES); do \
	  dpkg-query -W -f '$${Status}' "$$package" 2>/dev/null | grep -q '^install ok installed$$' || missing=1; \
	done; \
	if [ -n "$$missing" ]; then $(call apt_install,$(REFERENCES)); fi

emulator: $(EMULATOR) ## install the second emulator that tests compare the chip with

lock: $(READY) ## renew requirements.lock from pyproject.toml
	$(BIN)/python -m pip install --quiet --disable-pip-version-check uv
	$(BIN)/uv pip compile pyproject.toml --group dev --universal --generate-hashes \
	  --no-emit-index-url --no-header --no-annotate --quiet -o requirements.lock

clean: ## remove everything that was made
	rm -rf $(VENV) web/node_modules tests/published/avr8js/node_modules tests/page/axe/node_modules $(dir $(PAGE)) build dist out .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache

# The environment: exactly what requirements.lock pins, then the project itself, editable.
$(READY): requirements.lock pyproject.toml
	@if ! $(PYTHON) -c 'import ensurepip' 2>/dev/null; then $(call apt_install,python3-venv); fi
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	$(INSTALL)
	touch $@

$(PAGE): $(WEB) | $(READY)
	$(INSTALL)

$(EMULATOR): tests/published/avr8js/package-lock.json | $(READY)
	$(BIN)/python tests/npm_packages.py tests/published/avr8js

$(AXE): tests/page/axe/package-lock.json | $(READY)
	$(BIN)/python tests/npm_packages.py tests/page/axe
