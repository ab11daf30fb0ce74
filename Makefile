# Thin names for the chores of bootstrap.py, which needs nothing but Python 3.11.
# Words after ARGS= are handed on:  make test ARGS="-k streaks"

PYTHON ?= python3
CHORE = $(PYTHON) bootstrap.py $@ -- $(ARGS)

help:
	@echo "make demo    open the page on an invented creek (OPEN=0: only say its address)"
	@echo "make test    run the tests (QUICK=1: leave out the slow ones)"
	@echo "make check   look over format, lint, types, floors, house rules, spelling"
	@echo "make serve   serve the page for a book:  make serve ARGS=my.book"
	@echo "make bench   time the benchmarks, write docs/benchmarks.md"
	@echo "make study   run the studies, write docs/studies"
	@echo "make setup   only bring .venv, page and browser up to date"

setup demo test check bench study serve:
	@$(CHORE)

.PHONY: help setup demo test check bench study serve
