"""Flags win over the environment, the environment over the defaults."""

from pathlib import Path

import pytest

from api.settings import DEMO, read_settings


def test_only_this_machine_is_served_unless_told_otherwise() -> None:
    settings = read_settings([], {})
    assert (settings.host, settings.port, settings.origins) == ("127.0.0.1", 8000, ())
    assert settings.shop == (DEMO if DEMO.is_dir() else None)


def test_the_environment_is_read(tmp_path: Path) -> None:
    environment = {
        "FILLWRIGHT_HOST": "0.0.0.0",
        "FILLWRIGHT_PORT": "9000",
        "FILLWRIGHT_SHOP": str(tmp_path),
        "FILLWRIGHT_ORIGINS": "https://a.example, https://b.example,",
    }
    settings = read_settings([], environment)
    assert settings[:4] == ("0.0.0.0", 9000, tmp_path, ("https://a.example", "https://b.example"))


def test_how_long_is_waited_can_be_set() -> None:
    assert (read_settings([], {}).patience_s, read_settings([], {}).stop_within_s) == (20, 30)
    settings = read_settings(["--patience", "5"], {"FILLWRIGHT_PATIENCE": "6", "FILLWRIGHT_STOP_WITHIN": "7"})
    assert (settings.patience_s, settings.stop_within_s) == (5, 7)


@pytest.mark.parametrize("origin", ["http://localhost:5173", "https://shop.example", "http://[::1]:8080"])
def test_an_origin_is_a_scheme_a_host_and_a_port(origin: str) -> None:
    assert read_settings(["--origin", origin], {}).origins == (origin,)


@pytest.mark.parametrize(
    ("given", "sent"),
    [
        ("https://Shop.Example", "https://shop.example"),
        ("HTTPS://shop.example:443", "https://shop.example"),
        ("http://shop.example:80", "http://shop.example"),
        ("http://shop.example:443", "http://shop.example:443"),
    ],
)
def test_an_origin_is_taken_as_a_browser_sends_it(given: str, sent: str) -> None:
    assert read_settings(["--origin", given], {}).origins == (sent,)


def test_flags_win_over_the_environment() -> None:
    flags = ["--port", "0", "--origin", "https://a.example", "--origin", "https://b.example"]
    settings = read_settings(flags, {"FILLWRIGHT_PORT": "9000", "FILLWRIGHT_ORIGINS": "https://c.example"})
    assert (settings.port, settings.origins) == (0, ("https://a.example", "https://b.example"))


def test_workers_read_from_the_environment_what_the_flags_said(tmp_path: Path) -> None:
    flags = ["--host", "::1", "--port", "0", "--shop", str(tmp_path), "--origin", "https://a.example", "--workers", "3"]
    settings = read_settings(flags, {"FILLWRIGHT_PORT": "none"})
    assert settings.workers == 3
    assert read_settings([], settings.environment) == settings


@pytest.mark.parametrize(
    ("flags", "environment", "named"),
    [
        (["--port", "http"], {}, "--port"),
        (["--port", "70000"], {}, "--port"),
        ([], {"FILLWRIGHT_PORT": "-1"}, "FILLWRIGHT_PORT"),
        (["--workers", "0"], {}, "--workers"),
        ([], {"FILLWRIGHT_WORKERS": "many"}, "FILLWRIGHT_WORKERS"),
        (["--shop", "no-such-folder"], {}, "no-such-folder"),
        (["--patience", "0"], {}, "--patience"),
        ([], {"FILLWRIGHT_STOP_WITHIN": "1.5"}, "FILLWRIGHT_STOP_WITHIN"),
        ([], {"FILLWRIGHT_PATIENCE": "9" * 5000}, "FILLWRIGHT_PATIENCE"),
        ([], {"FILLWRIGHT_SHOP": "a" * 5000}, "does not exist"),
        (["--origin", "*"], {}, "the origin '*'"),
        (["--origin", "https://shop.example/"], {}, "https://shop.example/"),
        (["--origin", "http://..."], {}, "http://..."),
        (["--origin", "http://localhost:99999"], {}, "65535"),
        (["--origin", "http://localhost:0"], {}, "localhost:0"),
        (["--origin", "http://\u212a.example"], {}, "example"),
        (["--origin", "null"], {}, "null"),
        ([], {"FILLWRIGHT_ORIGINS": "https://a.example; script-src *"}, "script-src"),
        ([], {"FILLWRIGHT_ORIGINS": "https://日本.example"}, "https://"),
        ([], {"FILLWRIGHT_ORIGINS": "https://a.example,https://b.example\r\nSet-Cookie: x=1"}, "b.example"),
    ],
)
def test_a_setting_that_makes_no_sense_stops_the_start(
    flags: list[str], environment: dict[str, str], named: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as caught:
        read_settings(flags, environment)
    assert caught.value.code == 2
    assert named in capsys.readouterr().err
