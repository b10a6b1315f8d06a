"""What a search without a site file may be about, and what of the plant's kind options may say."""

from __future__ import annotations

SINGLE = "single unit"
KINDS = {
    "rack": "all or several of its circuits, or its machines",
    "circuit": "one circuit of a rack: its case or cold room",
    SINGLE: "a compressor or a pair with a condenser and evaporator of its own",
}
# What a call may be about is told by the subjects of its complaint.
OF_SUBJECT = {"rack": "rack", "compressor": "rack", "circuit": "circuit", "case": "circuit"}
# By option the quantity it gives; a search asks what it is not told.
OF_KIND = {"condenser": "condenser_kind", "receiver": "receiver_fitted", "cools": "what_it_cools"}
