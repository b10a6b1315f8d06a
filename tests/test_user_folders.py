"""The folders of the user and of the machine are those that platformdirs names."""

from __future__ import annotations

import platformdirs
import pytest

from expert.user_folders import of_machine, of_user


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
