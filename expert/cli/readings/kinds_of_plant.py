"""What a search without a site file may be about, and what of the plant's kind options may say."""

from __future__ import annotations

SINGLE = "single unit"
KINDS = ("rack", "circuit", SINGLE)
# By option the quantity it gives; a search asks what it is not told.
OF_KIND = {"condenser": "condenser_kind", "receiver": "receiver_fitted", "cools": "what_it_cools"}
