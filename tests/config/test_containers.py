"""The image and the samples that run it name what is there, and each other."""

import ast
import re

import pytest
import yaml

from script import system_needs
from tests.config.test_install import INSTALL, ROOT, assert_runs, settings_read

pytestmark = pytest.mark.once
COMPOSE = sorted(INSTALL.glob("compose-*.yaml"))


def test_the_image_has_what_the_program_needs_and_no_other_package():
    text = (INSTALL / "Containerfile").read_text(encoding="utf-8")
    listed = re.search(r"--no-install-recommends \\\n(.+?)\n    &&", text, re.DOTALL).group(1)
    packages = [line.strip(" \\") for line in listed.splitlines()]
    assert packages == ["python3", *system_needs.DEMO_NEEDS, "postgresql-client"]


def test_the_image_takes_only_what_is_there_and_runs_as_nobody_special():
    text = (INSTALL / "Containerfile").read_text(encoding="utf-8")
    copied = [words.split()[:-1] for words in re.findall(r"^COPY (.+)$", text, re.MULTILINE)]
    assert all((ROOT / path).exists() for paths in copied for path in paths)
    assert "." not in {path for paths in copied for path in paths}
    packages = {found.parent.name for found in ROOT.glob("*/__init__.py")} - {"tests", "script"}
    assert packages <= {path for paths in copied for path in paths}
    assert re.findall(r"^USER (.+)$", text, re.MULTILINE) == ["railwright"]
    assert text.index("USER railwright") < text.index("\nCMD")
    for command in re.findall(r"^CMD (\[.+\])$", text, re.MULTILINE):
        assert_runs(ast.literal_eval(command))


@pytest.mark.parametrize("sample", COMPOSE, ids=lambda sample: sample.name)
def test_a_compose_sample_runs_what_is_there(sample):
    services = yaml.safe_load(sample.read_text(encoding="utf-8"))["services"]
    assert {"prepare", "pages", "live", "work", "proxy"} <= set(services)
    for name in ("prepare", "live", "work"):
        assert_runs(services[name]["command"])
    for name in ("pages", "live", "work"):
        assert services[name]["depends_on"] == {"prepare": {"condition": "service_completed_successfully"}}
        assert (sample.parent / services[name]["build"]["context"]).resolve() == ROOT
        assert (ROOT / services[name]["build"]["dockerfile"]).exists()
    [proxy_settings, _] = services["proxy"]["volumes"]
    assert (INSTALL / proxy_settings.split(":")[0]).exists()


def own_services(sample):
    """Those of the sample that run the image."""
    services = yaml.safe_load(sample.read_text(encoding="utf-8"))["services"]
    return {name: service for name, service in services.items() if service["image"] == "railwright"}


@pytest.mark.parametrize("sample", COMPOSE, ids=lambda sample: sample.name)
def test_a_compose_sample_sets_what_is_read_and_keeps_what_is_written_in_volumes_that_there_are(sample):
    image = (INSTALL / "Containerfile").read_text(encoding="utf-8")
    whole = yaml.safe_load(sample.read_text(encoding="utf-8"))
    for service in own_services(sample).values():
        assert set(service["environment"]) <= settings_read()
        assert service["volumes"] == ["data:/data"]
        assert service["env_file"] == "railwright.env"
        # Nothing else may be written: what is stored lies in the volume, and what is for a moment in /tmp.
        assert service["read_only"]
        assert service["tmpfs"] == ["/tmp"]  # noqa: S108 - the container's own
        paths = [value for value in service["environment"].values() if not value.startswith("postgres:")]
        assert all(value.removeprefix("sqlite:///").startswith("/data/") for value in paths)
    assert "VOLUME /data\n" in image
    assert "install -d -o railwright -g railwright -m 750 /data\n" in image
    assert "XDG_CACHE_HOME=/tmp/cache" in image
    mounted = [mount.split(":")[0] for service in whole["services"].values() for mount in service.get("volumes", [])]
    assert {name for name in mounted if not name.startswith("./")} == set(whole["volumes"])


@pytest.mark.parametrize("sample", COMPOSE, ids=lambda sample: sample.name)
def test_a_compose_sample_waits_for_services_that_there_are_and_looks_after_each(sample):
    image = (INSTALL / "Containerfile").read_text(encoding="utf-8")
    services = yaml.safe_load(sample.read_text(encoding="utf-8"))["services"]
    assert {name for service in services.values() for name in service.get("depends_on", {})} <= set(services)
    [(_, health)] = re.findall(r"^(HEALTHCHECK) .+\n    CMD (\[.+\])$", image, re.MULTILINE)
    assert "http://127.0.0.1:8000/health/" in health
    looked_at = services["live"]["healthcheck"]["test"]
    assert looked_at[0] == "CMD"
    assert ast.literal_eval(health) == [part.replace(":8001/", ":8000/") for part in looked_at[1:]]
    assert set(re.findall(r"\d+", re.search(r"^EXPOSE (.+)$", image, re.MULTILINE)[1])) == {"8000", "8001"}
    proxy = (INSTALL / "Caddyfile.containers").read_text(encoding="utf-8")
    assert set(re.findall(r"reverse_proxy (?:\S+ )?(\w+):\d+", proxy)) == {"live", "pages"}
    for name, service in own_services(sample).items():
        # What prepares the database ends by itself; everything else is begun anew.
        assert service["restart"] == ("no" if name == "prepare" else "unless-stopped")
