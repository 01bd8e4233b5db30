"""The page that several report tests look at."""

from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def made_up_page(made_up: ModuleType) -> str:
    """The page of a comparison put together by hand, with awkward names in it."""
    from leaguesim.report import compare_page

    page: str = compare_page(made_up.compare())
    return page
