"""The bill of materials holds what its published form asks for."""

from __future__ import annotations

import json
import re
from importlib.metadata import distributions

import pytest
from django.core.management import CommandError, call_command

from kitdesk.bootstrap import LOCK, lines_for, pins

pytestmark = pytest.mark.any_database


@pytest.fixture(scope="module")
def bill(tmp_path_factory: pytest.TempPathFactory) -> dict:
    """The bill of the environment that runs the tests, from its file."""
    file = tmp_path_factory.mktemp("bill") / "bom.json"
    call_command("bom", str(file))
    return json.loads(file.read_text(encoding="utf-8"))


def test_it_has_the_fields_that_the_form_requires(bill):
    assert (bill["bomFormat"], bill["specVersion"], bill["version"]) == ("CycloneDX", "1.6", 1)
    assert re.fullmatch(r"urn:uuid:[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", bill["serialNumber"])
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00", bill["metadata"]["timestamp"])
    assert bill["metadata"]["component"] == {
        "type": "application",
        "bom-ref": "kitdesk",
        "name": "kitdesk",
    }
    references = [component["bom-ref"] for component in bill["components"]]
    assert len(set(references)) == len(references)
    for component in bill["components"]:
        assert component["type"] == "library" and component["name"]
        assert component["scope"] in ("required", "excluded")
        assert re.fullmatch(r"pkg:pypi/[a-z0-9-]+@\S+", component["purl"])
        for given in component.get("hashes", ()):
            assert given["alg"] == "SHA-256" and re.fullmatch("[0-9a-f]{64}", given["content"])
        choices = component.get("licenses", ())
        assert all(
            choice.get("expression") or choice.get("license", {}).get("name") for choice in choices
        )
        assert len([choice for choice in choices if "expression" in choice]) <= 1


def test_all_that_is_installed_is_there_with_licence_and_hashes(bill):
    components = {component["name"]: component for component in bill["components"]}
    assert len(components) == len({each.metadata["Name"].lower() for each in distributions()})
    run = pins(lines_for(LOCK.read_text(encoding="utf-8"), "run"))
    for name in run:
        assert components[name]["scope"] == "required"
        assert components[name]["hashes"], name
        assert components[name].get("licenses"), name
    assert components["pytest"]["scope"] == "excluded"


def test_a_place_that_cannot_be_written_is_said_and_without_one_it_is_printed(capsys, tmp_path):
    with pytest.raises(CommandError, match="Name another place"):
        call_command("bom", str(tmp_path / "none" / "bom.json"))
    call_command("bom")
    assert json.loads(capsys.readouterr().out)["bomFormat"] == "CycloneDX"
