"""Shared fixtures: results put together by hand (see made_up_results.py)."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest


def _load() -> ModuleType:
    path = Path(__file__).with_name("made_up_results.py")
    spec = importlib.util.spec_from_file_location("made_up_results", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def made_up() -> ModuleType:
    """The module that makes results by hand: ``compare()``, ``lane()``."""
    return _load()


@pytest.fixture(scope="session")
def made_up_page(made_up: ModuleType) -> str:
    """The page of a comparison put together by hand, with awkward names in it."""
    from leaguesim.report import compare_page

    page: str = compare_page(made_up.compare())
    return page
