"""What the documents say of records and their delivery is what the program does."""

import json
import re
from pathlib import Path

import yaml
from jsonschema import Draft202012Validator

from models.settings import DeliverySettings
from pipelines.delivery.schema import record_schema
from pipelines.delivery.sending import DELAYS_S, JITTER
from pipelines.delivery.webhook import answer_of
from tests.pipelines.delivery.receiver import SECRET

ROOT = Path(__file__).parents[3]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_example_is_a_record_of_the_published_format() -> None:
    found = re.search(r"```json\n(.*?)```", GUIDE, re.S)
    assert found is not None
    example = json.loads(found[1].replace("(64 digits)", "0" * 64))
    assert list(Draft202012Validator(record_schema()).iter_errors(example)) == []


def test_every_field_of_the_table_is_in_the_schema() -> None:
    rows = re.findall(r"^\| `([a-z_0-9.]+)` \|", GUIDE.split("| field |")[1].split("Over HTTP")[0], re.M)
    assert len(rows) >= 7
    schema = record_schema()
    known = {name for part in (schema, *schema["$defs"].values()) for name in part.get("properties", {})}
    known |= {
        f"{part}.{name}" for part, rule in schema["$defs"].items() for name in rule.get("properties", {})
    }
    assert [row for row in rows if row not in known] == []


def test_the_answers_do_what_is_said_of_them() -> None:
    said = re.search(r"410 closes the receiver, ([0-9, and]+) give the\s+record up", GUIDE)
    assert said is not None
    given_up = {int(n) for n in re.findall(r"\d+", said[1])}
    outcomes = {status: answer_of(status, None, 0.0).outcome for status in range(200, 600)}
    assert {s for s, o in outcomes.items() if o == "refused"} == given_up
    assert [s for s, o in outcomes.items() if o == "gone"] == [410]
    assert len(DELAYS_S) + 1 == 10
    days = sum(DELAYS_S) / 86400
    assert 3 <= days <= days * (1 + JITTER) <= 4


def test_the_receivers_of_the_settings_are_written_as_shown() -> None:
    text = (ROOT / "config" / "settings.yaml").read_text(encoding="utf-8")
    shown = re.search(r"receivers over HTTP: (\{.*\})", text)
    assert shown is not None
    one = yaml.safe_load(shown[1].replace("whsec_...", SECRET).replace("https://...", "https://a.test/"))
    assert DeliverySettings.model_validate({"endpoints": [one]}).endpoints[0].name == "shop"
    assert yaml.safe_load(text)["delivery"] == {"tables": [], "endpoints": [], "automatic": True}
