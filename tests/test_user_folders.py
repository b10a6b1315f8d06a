"""The folders of the user and of the machine are those that platformdirs names."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import platformdirs
import pytest

from expert.store.paths import job_file
from expert.user_folders import expanded, of_machine, of_user


@pytest.mark.parametrize("home", ["/somewhere/else", "", None])
def test_they_are_where_the_library_puts_them(
    monkeypatch: pytest.MonkeyPatch, home: str | None
) -> None:
    for name in ("CACHE_HOME", "CONFIG_HOME", "DATA_HOME", "CONFIG_DIRS"):
        if home is None:
            monkeypatch.delenv(f"XDG_{name}", raising=False)
        else:
            monkeypatch.setenv(f"XDG_{name}", home)
    given = {"appname": "rackwalk", "appauthor": False}
    assert of_user("cache") == platformdirs.user_cache_path(**given)
    assert of_user("config") == platformdirs.user_config_path(**given)
    assert of_user("data") == platformdirs.user_data_path(**given)
    assert of_machine() == platformdirs.site_config_path(**given)


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere platformdirs says it")
def test_a_user_without_a_home_has_folders_that_are_not_there(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    import pwd

    def nobody(number: int) -> object:
        raise KeyError(number)

    for name in ("HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "RACKWALK_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(pwd, "getpwuid", nobody)
    assert of_user("config") == Path("/nonexistent/.config/rackwalk")
    assert job_file() == Path("/nonexistent/.local/share/rackwalk/jobs.db")
    monkeypatch.setenv("XDG_CONFIG_HOME", "/somewhere")
    assert of_user("config") == Path("/somewhere/rackwalk")


def test_the_home_of_somebody_who_is_not_known_here_is_left_as_it_is_written(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert expanded("~nobody-of-that-name/x") == Path("~nobody-of-that-name/x")
    assert expanded("~") == Path(os.path.expanduser("~"))
    monkeypatch.setenv("RACKWALK_HOME", "~nobody-of-that-name/x")
    assert job_file() == Path("~nobody-of-that-name/x/jobs.db")
