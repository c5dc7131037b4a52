"""Libraries that take a second to load. Each worker reads all files of tests before the first runs: those that are asked for here are loaded only
by the worker that uses them, when it does."""

import importlib


class Late:
    """Stands for a module until something of it is wanted."""

    def __init__(self, name):
        self._name = name

    def __getattr__(self, what):
        # Who collects tests asks everything for such names.
        if what.startswith("_"):
            raise AttributeError(what)
        return getattr(importlib.import_module(self._name), what)
