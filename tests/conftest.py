"""Shared fixtures: results put together by hand, and a center small enough to be played in tests."""

import importlib.util
from collections.abc import Callable
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest


def _load(name: str) -> ModuleType:
    path = Path(__file__).with_name(f"{name}.py")
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def changeable() -> Callable[[ModuleType], Any]:
    """A module's functions and constants in a namespace of their own, for one of them to be made wrong."""
    return lambda module: SimpleNamespace(
        **{k: v for k, v in vars(module).items() if not k.startswith("__")}
    )


@pytest.fixture(scope="session")
def made_up() -> ModuleType:
    """The module that makes results by hand: ``compare()``, ``lane()``."""
    return _load("made_up_results")


@pytest.fixture(scope="session")
def tiny() -> ModuleType:
    """The module of the tiny center: ``FILES``, ``Door``."""
    return _load("tiny_center")


@pytest.fixture(scope="session")
def small() -> ModuleType:
    """The module of the small center: ``center()``, ``compare()``, ``digest()``."""
    return _load("small_center")


@pytest.fixture(scope="session")
def played(small: ModuleType) -> Callable[..., Any]:
    """Comparisons on the small center, each played once a session."""
    kept: dict[Any, Any] = {}

    def play(now: str, after: str, **options: Any) -> Any:
        key = (now, after, tuple(sorted(options.items())))
        if key not in kept:
            kept[key] = small.compare(small.center(), now, after, **options)
        return kept[key]

    return play


@pytest.fixture(scope="session")
def floor_and_pins(small: ModuleType) -> Any:
    """(ready small center, its fresh setting on 'house'), never changed by tests."""
    from leaguesim.study.prepare import ready

    with ready(small.center(), 11, workers=1, tie=False) as made:
        yield made, made.setting("house")


@pytest.fixture(scope="session")
def made_up_page(made_up: ModuleType) -> str:
    """The page of a comparison put together by hand, with awkward names in it."""
    from leaguesim.report import compare_page

    page: str = compare_page(made_up.compare())
    return page
