# Each recipe sets up what it needs on a fresh machine with Python 3.11 and Node 20.
PY := .venv/bin/python
# Python compiles modules when they are imported, and most installed modules never are.
PIP := $(PY) -m pip install -q --no-compile
MADE := src/coldfield/app/demo/made.json.gz
LOOPS := src/coldfield/loops/.stamp
FRONT := src/coldfield/web/static/app/app.html
SERVICE := $(shell find src/coldfield/web src/coldfield/records src/coldfield/files src/coldfield/app src/coldfield/debrief -name '*.py')
FRONT_SOURCES := $(shell find frontend -type f -not -path '*/node_modules/*' -not -path '*/dist/*' -not -path '*/.svelte-check/*' -not -name openapi.json -not -name day_file.json -not -name '*schema.d.ts' -not -name keys.d.ts -not -path '*/api/fields.ts' -not -name 'zero-*.woff')

FRONT_TYPES := frontend/src/api/schema.d.ts frontend/src/clock/day_schema.d.ts frontend/src/words/keys.d.ts frontend/src/theme/zero-400.woff
# The sources of compiled loops.
COMPILED := $(shell grep -rlE --include='*.py' '^from (numba|.*compiled) import' src) $(wildcard src/coldfield/rescue/kernel/*.py)
# One process more than the two cores, because browser tests wait for their pages.
WORKERS := -n 3 --dist loadfile --no-loadscope-reorder
# If make supports it, keep the output of each check together.
SYNC := $(if $(filter output-sync,$(.FEATURES)),--output-sync=target)
FRONT_CHANGED = $(shell git status --porcelain -- frontend)

# Keep Python's bytecode even if the shell says otherwise, because tests start many processes.
unexport PYTHONDONTWRITEBYTECODE

.PHONY: demo libraries test check quick desk python front-end tests changed changed-pages bench dev front wheel one-file engines audit clean

demo: .venv/run.stamp front $(MADE)          ## the demo drill and its debrief, served on this machine
	$(PY) -m coldfield demo

libraries: .venv/check.stamp frontend/node_modules/.stamp    ## what the checks need, from the registries

test:                                ## everything that can be checked, tests last
	@$(MAKE) --no-print-directory -j 2 libraries
	@$(MAKE) --no-print-directory --keep-going -j 3 python front-end tests

check: .venv/check.stamp             ## the same, without the tests
	@$(MAKE) --no-print-directory --keep-going -j 2 $(SYNC) python front-end

quick: .venv/check.stamp             ## the same for what changed, with its tests, before a commit
	@$(MAKE) --no-print-directory --keep-going -j 3 $(SYNC) python changed $(if $(FRONT_CHANGED),changed-pages)

desk: .venv/check.stamp front        ## what a run takes a sample of, in full: an hour or two
	COLDFIELD_TESTS=desk $(PY) -m pytest $(WORKERS) -m "desk or hypothesis"

engines: .venv/check.stamp front $(MADE)     ## the main work in Chromium, Firefox and Safari's engine, all of it
	COLDFIELD_TESTS=desk $(PY) -m pytest tests/front/test_app_engines.py tests/front/test_clock_engines.py

audit: .venv/check.stamp             ## known weaknesses of the pinned libraries, asked of the public advisory service
	.venv/bin/uv tool run pip-audit --require-hashes --disable-pip -r constraints.txt
	cd frontend && npm audit --omit=dev

python: .venv/check.stamp
	$(PY) -m ruff check .
	$(PY) -m ruff format --check .
	$(PY) -m mypy
	.venv/bin/lint-imports --no-cache

front-end: $(FRONT_TYPES)
	cd frontend && npm run --silent check

tests: .venv/check.stamp front .venv/compiled.stamp
	@$(MAKE) --no-print-directory $(MADE)
	$(PY) -m pytest $(WORKERS)

changed: .venv/check.stamp
	$(PY) design/changed_tests.py

changed-pages: $(FRONT_TYPES)
	cd frontend && npm run --silent quick

# Compiled loops that come with the package.
$(LOOPS): .venv/run.stamp $(COMPILED)
	$(PY) -m coldfield.app.ship_loops
	touch $@

# Compile the other loops once with numba, before several test processes would each do it.
.venv/compiled.stamp: .venv/check.stamp $(COMPILED) $(LOOPS)
	$(PY) -m coldfield rehearse src/coldfield/app/demo/drill.json --runs 700 --seed 1 >/dev/null
	$(PY) -m coldfield strip-width src/coldfield/app/demo/drill.json >/dev/null
	$(PY) -c "from coldfield.app.hearing.readiness import prepare_hearing; prepare_hearing()"
	touch $@

# The demo's run and its debrief, so that an installed Coldfield can show them at once.
$(MADE): .venv/run.stamp $(LOOPS) $(shell find src/coldfield -name '*.py')
	$(PY) -m coldfield.app.demo.made
	touch $@

bench: .venv/check.stamp             ## speed, as ratios within one run
	$(PY) -m pytest bench -p no:xdist -p no:cacheprovider --benchmark-enable --benchmark-columns=min,median,rounds -o addopts=""

wheel: .venv/run.stamp front $(MADE)         ## the package with the front end in it, into dist/
	$(PY) -m pip wheel -q --no-deps --no-build-isolation --no-index -w dist .

one-file: .venv/check.stamp front $(MADE)    ## one file to double-click, with Python and all in it, into dist/
	$(PY) -m PyInstaller --noconfirm --distpath dist --workpath dist/work design/one_file/coldfield.spec

dev: .venv/check.stamp front         ## hooks for work on the code itself
	.venv/bin/pre-commit install

front: $(FRONT)

$(FRONT): $(FRONT_TYPES) $(FRONT_SOURCES) $(wildcard src/coldfield/words/*/*.json)
	cd frontend && npm run build
	touch $@

# The types of the service's answers, from its OpenAPI description.
frontend/src/api/schema.d.ts: .venv/run.stamp frontend/node_modules/.stamp $(SERVICE)
	$(PY) design/write_openapi.py frontend/openapi.json
	$(PY) design/write_fields.py frontend/src/api/fields.ts
	cd frontend && npm run --silent generate

# The keys of the catalogues.
frontend/src/words/keys.d.ts: .venv/run.stamp $(wildcard src/coldfield/words/en/*.json)
	$(PY) design/write_words_keys.py $@

# The typeface's zero without its slash, regular and bold.
frontend/src/theme/zero-400.woff: .venv/run.stamp frontend/node_modules/.stamp design/write_zero.py
	$(PY) design/write_zero.py frontend/node_modules/@fontsource/atkinson-hyperlegible/files frontend/src/theme

# The types of the clock's items, from the forms of the day file.
frontend/src/clock/day_schema.d.ts: .venv/run.stamp frontend/node_modules/.stamp src/coldfield/files/day_model.py src/coldfield/files/day_places.py
	$(PY) design/write_day_types.py frontend/day_file.json
	cd frontend && npm run --silent generate:day

frontend/node_modules/.stamp: frontend/package.json frontend/package-lock.json
	cd frontend && npm ci
	touch $@

.venv/bin/python:
	python3 -m venv .venv

.venv/run.stamp: .venv/bin/python constraints.txt pyproject.toml
	test -e .venv/check.stamp || $(PIP) --require-hashes -r constraints.txt
	$(PIP) --no-deps --no-build-isolation -e .
	touch $@

.venv/check.stamp: .venv/bin/python constraints-check.txt pyproject.toml
	$(PIP) --require-hashes -r constraints-check.txt
	$(PIP) --no-deps --no-build-isolation -e .
	touch $@ .venv/run.stamp

clean:
	rm -rf .venv dist frontend/node_modules frontend/openapi.json frontend/src/api/schema.d.ts frontend/src/api/fields.ts \
		frontend/day_file.json frontend/src/clock/day_schema.d.ts frontend/src/words/keys.d.ts frontend/src/theme/zero-*.woff src/coldfield/web/static
