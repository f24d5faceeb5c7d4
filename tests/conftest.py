"""What every test shares."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from sunpantry.language import speak


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep results of the tests out of the user's cache, and the user's out of the tests."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SUNPANTRY_CACHE", str(tmp_path_factory.mktemp("cache")))
        yield


@pytest.fixture(autouse=True)
def _english() -> Iterator[None]:
    """Begin every test in English, whatever the one before spoke."""
    speak("en")
    yield
    speak("en")
