# Two commands matter: `make demo` shows scribeline at work, `make test` runs every check that CI runs.
# Both first see to .venv, and a second run finds it ready. docs/howto/work-on-scribeline.md has the rest.

# The interpreter that .venv is made from: the one you name (PYTHON=python3.12 make test), else the first that fits.
FITS := import sys; print("fits" * ((3, 11) <= sys.version_info[:2] <= (3, 13)))
CHOSEN = $(or $(PYTHON),$(shell for p in python3 python3.13 python3.12 python3.11; do \
	test "$$($$p -I -c '$(FITS)' 2>/dev/null)" = fits && { echo $$p; break; }; done),python3)

# Settings of yours that would change what Python and the checks do stay outside.
unexport $(filter PYTHON%,$(.VARIABLES)) PYTEST_ADDOPTS PYTEST_PLUGINS MYPYPATH

UV ?= uv
LOCK = $(UV) pip compile pyproject.toml --universal --python-version 3.11 --only-binary :all: --generate-hashes \
	--no-emit-index-url --no-header --no-annotate --quiet $(UPGRADE) --group build

.PHONY: help demo test checked compiled tested-pages tested-rest bench format docs lock clean fitting-python \
	installed-run installed-test

help:
	@echo 'make demo     install what is needed into .venv and work out the demonstration engine;'
	@echo '              with a display, or as make demo OPEN=1, it opens the pages at the end'
	@echo 'make test     run every check that CI runs: style, types, imports, tests'
	@echo 'make bench    time the slow parts'
	@echo 'make format   put the source into the one style'
	@echo 'make docs     write the pages of docs/reference anew from the code'
	@echo 'make lock     bring locks/ up to date with pyproject.toml (needs uv)'
	@echo 'make clean    remove .venv and everything else that was made here'

demo: installed-run
	@echo 'scribeline: working out the demonstration engine, examples/club-kart-98.toml (the first time the'
	@echo '            numerics are compiled, which takes some seconds)'
	@mkdir -p demo-out
	.venv/bin/scribeline card examples/club-kart-98.toml --html demo-out/club-kart-98.html
	@echo
	@echo 'scribeline: simulating it, and the same engine with its squish set (the first time the gas dynamics are'
	@echo '            compiled, which takes up to a minute)'
	.venv/bin/scribeline curve examples/club-kart-98.toml --compare examples/club-kart-98-squish-set.toml \
		--rpm 5000:12000:500 --html demo-out/club-kart-98-curve.html >/dev/null
	@echo
	@echo 'scribeline: which gaskets set its squish, and how much metal would have to come off'
	.venv/bin/scribeline stacks examples/club-kart-98.toml --gaskets examples/gasket-box.toml --most 3
	@echo
	@echo 'scribeline: planning it: squish and deck first, then the lines, with their stops, in demo-out/club-kart-98-cut-list.txt'
	.venv/bin/scribeline plan examples/club-kart-98.toml --plan examples/club-kart-98-plan.toml --cut-list \
		>demo-out/club-kart-98-cut-list.txt
	@echo
	@echo 'scribeline: drawing the sheets that the demonstration plan is marked out by'
	.venv/bin/scribeline sheets examples/club-kart-98.toml --plan examples/club-kart-98-plan.toml \
		--format pdf,svg,dxf -o demo-out/sheets >/dev/null
	.venv/bin/scribeline build-card examples/club-kart-98.toml --plan examples/club-kart-98-plan.toml \
		-o demo-out/sheets/build-card.png >/dev/null
	@echo
	@echo 'scribeline: was it worth it? Invented gate times of the kart before and after, to a verdict'
	.venv/bin/scribeline trial compare examples/gate-times.csv --png demo-out/verdict.png >demo-out/verdict.txt
	@sed -n '1,4p' demo-out/verdict.txt
	@echo
	@echo 'scribeline: done. Both pages open in any browser and need no network:'
	@echo "            $$PWD/demo-out/club-kart-98.html"
	@echo "            $$PWD/demo-out/club-kart-98-curve.html"
	@echo "            and the sheets, to print at 100 %: $$PWD/demo-out/sheets"
	@echo "            The verdict as a picture: $$PWD/demo-out/verdict.png"
	@echo '            What next: README.md'
	@echo
	@.venv/bin/scribeline notebook demonstration --notebook demo-out/notebook.sqlite >/dev/null
	@if [ -n "$(OPEN)$$DISPLAY$$WAYLAND_DISPLAY" ] || [ "$$(uname)" = Darwin ]; then \
		echo 'scribeline: the same engine in its pages, in your browser; Ctrl-C ends it, and nothing is lost'; \
		exec .venv/bin/scribeline serve --open --notebook demo-out/notebook.sqlite; \
	else \
		echo 'scribeline: the same engine in its pages: make demo OPEN=1, or'; \
		echo "            .venv/bin/scribeline serve --notebook demo-out/notebook.sqlite"; \
	fi

test: installed-test
	@$(MAKE) --no-print-directory --jobs=2 checked compiled
	@$(MAKE) --no-print-directory --jobs=2 tested-rest tested-pages

checked:
	.venv/bin/ruff check .
	.venv/bin/ruff format --check .
	.venv/bin/mypy
	.venv/bin/lint-imports

# Once, beside the checks that leave a core free, and not by every process of the tests for itself.
compiled:
	.venv/bin/python scripts/compile_numerics.py

# The tests in two halves, about equally long and at work side by side: the pages, whose report comes at their end in
# one piece, and everything else.
tested-pages:
	@said=$$(mktemp); .venv/bin/pytest tests/web >"$$said" 2>&1; status=$$?; \
	echo; echo 'scribeline: the tests of the pages'; cat "$$said"; rm -f "$$said"; exit $$status

tested-rest:
	.venv/bin/pytest --ignore=tests/web

bench: installed-test
	.venv/bin/pytest benchmarks/ --benchmark-only

format: installed-test
	.venv/bin/ruff check --fix .
	.venv/bin/ruff format .

docs: installed-test
	.venv/bin/python docs/generate.py

# `make lock` keeps every version that still fits; `make lock UPGRADE=--upgrade` takes the newest of all.
lock:
	$(LOCK) --group test --output-file locks/test.txt
	$(LOCK) --constraint locks/test.txt --output-file locks/run.txt

clean:
	rm -rf .venv demo-out .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache .benchmarks

installed-run: fitting-python
	@"$(CHOSEN)" -I scripts/install.py run

installed-test: fitting-python
	@"$(CHOSEN)" -I scripts/install.py test

fitting-python:
	@test "$$("$(CHOSEN)" -I -c '$(FITS)' 2>/dev/null)" = fits || { \
	echo 'scribeline: it needs Python 3.11, 3.12 or 3.13, and "$(CHOSEN)" is none of these or does not start.'; \
	echo '            Install one of them, or name the one to use: PYTHON=python3.12 make test'; exit 1; }
