"""What a job offers to its store can be kept as it is offered."""

from __future__ import annotations

from datetime import UTC, datetime

from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.procedure.entries import Entry
from expert.procedure.picture import fold
from expert.sites.data import data_of, set_value, text_of
from expert.sites.learned import learned

SITE = """
site: {name: Own store (invented), invented: yes, altitude: 0 ft}
racks:
  - {id: A, title: Rack A, refrigerant: R-448A, application: low temperature, defrost: hot gas,
     circuits: [{id: A4, title: Freezers}]}
"""


def test_a_choice_typed_by_its_number_is_offered_in_its_words(shipped_rulebase: Rulebase) -> None:
    site = parse_site(SITE, "own.yaml", shipped_rulebase)
    said = {"quantity": "defrost_gas", "kind": "choice", "text": "1", "value": "hot gas"}
    drip = {"quantity": "drip_setting", "kind": "duration", "text": "4", "value": 240.0}
    at = datetime(2026, 3, 14, 7, 0, tzinfo=UTC)
    entries = (Entry(1, at, "answer", "gas", said), Entry(2, at, "answer", "drip", drip))
    found = learned(fold(entries), ("gas", "drip"), site, "A4", shipped_rulebase, "us", "A. Sample")
    assert [each.text for each in found] == ["hot gas", "4 min"]
    data = data_of(SITE, "own.yaml")
    for each in found:
        set_value(data, each.on, each.quantity.id, each.text)
    kept = parse_site(text_of(data), "own.yaml", shipped_rulebase)
    assert kept.subjects["A4"].values["defrost_gas"].value == "hot gas"
