"""Flags win over the environment, the environment over the defaults; what makes no sense stops the start."""

from pathlib import Path

import pytest

from api.settings import DEMO, Settings, read_settings


@pytest.fixture(autouse=True)
def environment(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    """An environment without settings, for each test to fill."""
    for name in Settings.model_fields:
        monkeypatch.delenv(f"FILLWRIGHT_{name.upper()}", raising=False)
    return monkeypatch


def test_the_default_serves_this_machine_only() -> None:
    settings = read_settings()
    assert (settings.host, settings.port, settings.origins) == ("127.0.0.1", 8000, ())
    assert (settings.read_timeout, settings.keep_alive, settings.graceful_timeout) == (20, 20, 30)
    assert settings.shop == DEMO


def test_the_environment_is_read(environment, tmp_path: Path) -> None:
    environment.setenv("FILLWRIGHT_HOST", "0.0.0.0")
    environment.setenv("FILLWRIGHT_PORT", "9000")
    environment.setenv("FILLWRIGHT_SHOP", str(tmp_path))
    environment.setenv("FILLWRIGHT_ORIGINS", "https://a.example, https://b.example,")
    settings = read_settings()
    assert (settings.host, settings.port, settings.shop) == ("0.0.0.0", 9000, tmp_path)
    assert settings.origins == ("https://a.example", "https://b.example")


def test_flags_win_over_the_environment(environment) -> None:
    environment.setenv("FILLWRIGHT_PORT", "9000")
    environment.setenv("FILLWRIGHT_ORIGINS", "https://c.example")
    settings = read_settings(["--port", "0", "--origin", "https://a.example", "--origin", "https://b.example"])
    assert (settings.port, settings.origins) == (0, ("https://a.example", "https://b.example"))


def test_workers_read_from_the_environment_what_the_flags_set(environment, tmp_path: Path) -> None:
    flags = [
        "--host",
        "::1",
        "--port",
        "0",
        "--shop",
        str(tmp_path),
        "--region",
        "asia",
        "--origin",
        "https://a.example",
        "--workers",
        "3",
    ]
    proxied = ["--public", "--public-url", "https://shop.example/oil", "--root-path", "/inner", "--allowed-host", "oil"]
    proxied += ["--allowed-host", "192.168.1.5", "--forwarded-allow-ips", "10.0.0.5,10.1.0.0/16"]
    settings = read_settings([*flags, *proxied, "--read-timeout", "2.5", "--graceful-timeout", "4"])
    assert settings.workers == 3
    assert settings.public
    for name, value in settings.environment.items():
        environment.setenv(name, value)
    assert read_settings() == settings


@pytest.mark.parametrize(
    ("given", "sent"),
    [
        ("http://localhost:5173", "http://localhost:5173"),
        ("http://[::1]:8080", "http://[::1]:8080"),
        ("https://Shop.Example", "https://shop.example"),
        ("HTTPS://shop.example:443", "https://shop.example"),
        ("http://shop.example:80", "http://shop.example"),
        ("http://shop.example:443", "http://shop.example:443"),
        ("https://bücher.example", "https://xn--bcher-kva.example"),
    ],
)
def test_an_origin_is_compared_as_a_browser_sends_it(given: str, sent: str) -> None:
    assert read_settings(["--origin", given]).origins == (sent,)


@pytest.mark.parametrize(
    ("flags", "variables", "named", "allowed"),
    [
        (["--port", "http"], {}, "--port", "valid integer"),
        ([], {"PORT": "-1"}, "FILLWRIGHT_PORT", "greater than or equal to 0"),
        (["--shop", "no-such-folder"], {}, "--shop", "'no-such-folder' does not exist"),
        ([], {"KEEP_ALIVE": "9" * 5000}, "FILLWRIGHT_KEEP_ALIVE", "integer"),
        ([], {"SHOP": "a" * 5000}, "FILLWRIGHT_SHOP", "does not exist"),
        (["--origin", "*"], {}, "'*'", "https://shop.example"),
        (["--origin", "https://shop.example/"], {}, "--origin", "https://shop.example"),
        (["--origin", "http://..."], {}, "--origin", "https://shop.example"),
        (["--origin", "http://localhost:99999"], {}, "--origin", "https://shop.example"),
        (["--origin", "http://localhost:0"], {}, "--origin", "https://shop.example"),
        (["--origin", "null"], {}, "--origin", "https://shop.example"),
        (["--public-url", "shop.example/oil"], {}, "--public-url", "https://shop.example/oil"),
        (["--public-url", "https://shop.example/oil?a=1"], {}, "--public-url", "https://shop.example/oil"),
        (["--public-url", "https://shop.example/v1"], {}, "--public-url", "otherwise than the paths of the service"),
        (["--root-path", "oil"], {}, "--root-path", "/oil"),
        ([], {"ROOT_PATH": "/oil/../x y"}, "FILLWRIGHT_ROOT_PATH", "/oil"),
        (["--allowed-host", "https://shop.example"], {}, "--allowed-host", "shop.example"),
        ([], {"ALLOWED_HOSTS": "shop.example,*"}, "FILLWRIGHT_ALLOWED_HOSTS", "shop.example"),
        (["--forwarded-allow-ips", "*"], {}, "--forwarded-allow-ips", "10.0.0.5"),
        (["--forwarded-allow-ips", "10.0.0.5/8"], {}, "--forwarded-allow-ips", "10.0.0.0/24"),
        ([], {"PUBLIC": "perhaps"}, "--public or FILLWRIGHT_PUBLIC", "boolean"),
        ([], {"ORIGINS": "https://a.example; script-src *"}, "script-src", "https://shop.example"),
        ([], {"ORIGINS": "https://a.example;script-src"}, "script-src", "https://shop.example"),
        (
            [],
            {"ORIGINS": "https://a.example,https://b.example\r\nSet-Cookie: x=1"},
            "b.example",
            "https://shop.example",
        ),
    ],
)
def test_a_setting_that_makes_no_sense_is_named_with_what_is_allowed(
    environment, capsys: pytest.CaptureFixture[str], flags, variables, named: str, allowed: str
) -> None:
    for name, value in variables.items():
        environment.setenv(f"FILLWRIGHT_{name}", value)
    with pytest.raises(SystemExit) as caught:
        read_settings(flags)
    assert caught.value.code == 2
    told = capsys.readouterr().err
    assert named in told
    assert allowed in told
