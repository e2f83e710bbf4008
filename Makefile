# Bayproof. `make demo` shows it, `make run` is your own shop, `make test` proves it.

SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c
.DEFAULT_GOAL := help

PY ?= python3
VENV := .venv
BIN := $(VENV)/bin
PORT ?= 8000
SEED ?= 1
SERVE ?= yes
SIZE ?= small
TLS ?=
HOST ?= $(if $(TLS),0.0.0.0,127.0.0.1)
SCHEME := $(if $(TLS),https,http)
TLS_PARTS = $(if $(TLS),--certfile $$SHOP_DATA/keys/tls.crt --keyfile $$SHOP_DATA/keys/tls.key,)
GUNICORN = $(BIN)/gunicorn shop.wsgi --worker-class gthread --workers 2 --threads 8 --timeout 60 \
	--max-requests 1000 --max-requests-jitter 100 --no-control-socket --bind $(HOST):$(PORT)
export PYTHONDONTWRITEBYTECODE := 1
# Two test processes must name their cases alike.
export PYTHONHASHSEED := 0

.PHONY: help demo run test check soak short-soak load bench pictures install install-dev clean

help:
	@echo "make demo      a believable small shop, served on http://localhost:$(PORT)  (SERVE=no SEED=n PORT=n SIZE=full)"
	@echo "make run       your own shop                                            (PORT=n TLS=1)"
	@echo "make test      every test in short form"
	@echo "make check     format, lint, types, templates, migrations, deployment"
	@echo "make soak      the long tests, and all on PostgreSQL    make short-soak   the same in minutes"
	@echo "make load      thirty tablets at once    make bench   ratios in one run    make pictures   the README's"

install: $(VENV)/.installed
install-dev: $(VENV)/.installed-dev

$(VENV)/.installed: requirements.txt tools/machine.sh
	@bash tools/machine.sh venv "$(PY)" $(VENV)
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.txt
	@bash tools/machine.sh libraries $(BIN)/python
	@touch $@

$(VENV)/.installed-dev: $(VENV)/.installed requirements-dev.txt
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements-dev.txt
	@bash tools/machine.sh browser $(BIN)/python
	@touch $@

demo: install
	@bash tools/machine.sh fresh-demo data/demo
	@export SHOP_DATA=$(CURDIR)/data/demo SHOP_URL=http://localhost:$(PORT); \
	$(BIN)/python manage.py demo --seed $(SEED) --size $(SIZE); \
	if [ "$(SERVE)" = yes ]; then \
		echo; echo "Open http://localhost:$(PORT)/ (stop with Ctrl-C)."; \
		exec $(GUNICORN); \
	fi

run: install
	@export SHOP_DATA=$(CURDIR)/data/shop $(if $(TLS),SHOP_TLS=yes,); \
	$(BIN)/python manage.py migrate --verbosity 0; \
	$(if $(TLS),$(BIN)/python tools/tls.py $$SHOP_DATA/keys;) \
	echo "Open $(SCHEME)://localhost:$(PORT)/ (stop with Ctrl-C)."; \
	exec $(GUNICORN) $(TLS_PARTS)

test: install-dev
	@$(BIN)/python -m pytest -n 2 --dist loadgroup tests
	@bash tools/postgres.sh $(BIN)/python -m pytest -n 2 --dist loadgroup tests/record tests/work -m "not journey"

check: install-dev
	@$(BIN)/ruff format --check --quiet .
	@$(BIN)/ruff check --quiet .
	@$(BIN)/mypy --strict $$($(BIN)/python tools/pure.py)
	@$(BIN)/djlint templates --lint --quiet
	@export SHOP_DATA=$$(mktemp -d); $(BIN)/python manage.py makemigrations --check --dry-run --verbosity 1; \
	SHOP_TLS=yes SHOP_REDIRECT_TO_TLS=yes SHOP_HOSTS=shop.example $(BIN)/python manage.py check --deploy --fail-level WARNING; \
	rm -rf "$$SHOP_DATA"
	@echo "check: all good"

# One at a time: they measure, and they share the two cores with nobody.
soak: install-dev
	@$(BIN)/python -m pytest tests/soak -m soak
	@bash tools/postgres.sh $(BIN)/python -m pytest -n 2 --dist loadgroup tests -m "not journey"

short-soak: install-dev
	@BAYPROOF_SOAK=short $(BIN)/python -m pytest tests/soak -m soak

load: install-dev
	@$(BIN)/python -m tests.load

bench: install-dev
	@$(BIN)/python -m tests.bench

pictures: install-dev
	@$(BIN)/python tools/pictures.py

clean:
	@rm -rf build .pytest_cache .mypy_cache .ruff_cache
