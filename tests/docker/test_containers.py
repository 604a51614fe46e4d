"""The compose files and the list of variables agree with the settings."""

import re
from pathlib import Path

import pytest
import yaml

CHECKOUT = Path(__file__).resolve().parents[2]
DOCKER = CHECKOUT / "docker"
PROJECT = CHECKOUT / "services" / "project"
READERS = r"(?:text|switch|whole_number|words|one_of|secret|address|folder|contact|servers?)"
KEPT_AS_FILE_TOO = r"(?:secret|address)\(\s*\"([A-Z_]+)\""


def variables_read():
    source = "\n".join((PROJECT / name).read_text() for name in ("settings.py", "environment.py"))
    read = set(re.findall(READERS + r"\(\s*\"([A-Z_]+)\"", source))
    from_files = {f"{name}_FILE" for name in re.findall(KEPT_AS_FILE_TOO, source)}
    return read | from_files | {"DUSKBOOK_ENVIRONMENT"}


def variables_listed():
    lines = (DOCKER / "env.example").read_text()
    return set(re.findall(r"^#([A-Z_]+)=", lines, re.MULTILINE))


def compose(name):
    return yaml.safe_load((DOCKER / name).read_text())


def test_the_example_lists_the_variables_that_the_settings_read():
    # Whether an address may come from a file matters only where it holds a password.
    without_password = {"DUSKBOOK_ADDRESS_FILE", "DUSKBOOK_MAP_TILES_FILE"}

    assert variables_listed() == variables_read() - without_password


@pytest.mark.parametrize("name", ["compose.yaml", "compose.postgres.yaml"])
def test_the_containers_are_given_only_variables_that_are_read(name):
    ours = [part for part in compose(name)["services"].values() if "build" in part]

    given = {variable for part in ours for variable in part.get("environment", {})}
    assert ours
    assert given <= variables_read()


def test_every_secret_that_a_container_is_given_is_declared():
    book = compose("compose.postgres.yaml")

    given = {name for part in book["services"].values() for name in part.get("secrets", [])}
    assert given == set(book["secrets"])


def test_every_container_waits_only_for_one_that_is_there():
    services = compose("compose.postgres.yaml")["services"]

    awaited = {name for part in services.values() for name in part.get("depends_on", {})}
    assert awaited <= set(services)


def test_what_is_awaited_as_healthy_has_a_health_check():
    services = compose("compose.postgres.yaml")["services"]

    healthy = {
        name
        for part in services.values()
        for name, wait in part.get("depends_on", {}).items()
        if wait["condition"] == "service_healthy"
    }
    assert all("test" in services[name]["healthcheck"] for name in healthy)


def test_no_secret_stands_in_the_files():
    for path in DOCKER.iterdir():
        assert not re.search(r"(PASSWORD|SECRET_KEY)[=:] *\w", path.read_text()), path.name


def test_what_the_image_copies_is_let_through_to_it():
    copied = re.findall(r"^COPY (.+) \S+$", (DOCKER / "Dockerfile").read_text(), re.MULTILINE)
    let_through = (CHECKOUT / ".dockerignore").read_text()

    for path in " ".join(copied).split():
        name = path.replace("requirements.postgres", "requirements*")
        assert f"!{name}\n" in let_through


def test_the_image_makes_backups_of_the_server_that_runs_beside_it():
    server = re.match(
        r"postgres:(\d+)", compose("compose.postgres.yaml")["services"]["postgres"]["image"]
    )

    assert f"postgresql-client-{server[1]} " in (DOCKER / "Dockerfile").read_text()
    assert "cryptography" in pins("docker/requirements.postgres.txt")


@pytest.mark.parametrize("lock", ["docker/requirements.txt", "docker/requirements.postgres.txt"])
def test_the_lock_of_the_tests_holds_the_same_versions(lock):
    assert pins(lock).items() <= pins("tests/requirements.txt").items()


def test_no_lock_names_a_host():
    for path in [*DOCKER.glob("*.txt"), *(CHECKOUT / "tests").glob("requirements*.txt")]:
        assert not re.search(r"https?://|file:|--index|--find-links|--trusted", path.read_text())


def pins(lock):
    return dict(re.findall(r"^([\w.-]+)==(\S+)", (CHECKOUT / lock).read_text(), re.MULTILINE))
