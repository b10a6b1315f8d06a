"""Which keys each kind of entry has: one table for the readers, the formatter and the schema."""

from __future__ import annotations

from expert.knowledge.key_shapes import SOURCE, shape
from expert.knowledge.pack_keys import (
    ADD_STEPS,
    EXPLAINED,
    LEAVE_OUT_STEPS,
    OVERRIDE,
    PACK,
    SWITCH_OFF,
)

_APPLIES = ("applies", "applies", "only for these applications; left out, it is for all")

CERTAINTY = shape(
    "certainty",
    ("strengths*", "strengths", "each named strength with its number from 0 to 1"),
    ("words*", "words", "from which certainty on which word is said"),
    ("threshold*", "share", "below it a cause is not shown"),
    SOURCE,
)
QUANTITY = shape(
    "a quantity",
    ("id*", "snake_id", "its name in rules, for example case_air_temperature"),
    ("title*", "text", "what a technician calls it"),
    ("also", "texts", "what the trade also calls it, for example [TD, split]"),
    ("subject*", "subject", "what it is measured on"),
    ("kind*", "kind", "what sort of number it is; 'choice' when it is told in words"),
    ("unit", "text", "the unit of a number typed without one, where the trade has its own: day"),
    ("choices", "choices", "the words it can be answered with"),
    ("fitted", "choices", "for a choice the device in 'has' that says it"),
    (
        "given",
        "given",
        "'site' when it stands in the site file, 'log' when it comes from a log; it is not asked",
    ),
    ("carried_over", "yes_no", "'yes' for what was before the visit; it holds as left too"),
    ("stays", "yes_no", "'yes' for what is the same at every visit unless something drifted"),
    ("during", "phase", "'cooling' or 'defrost' where it can be taken only then"),
    (
        "place",
        "spot",
        "where one stands to take it: 'motor room', 'case', 'roof', 'display', 'store'",
    ),
    ("applies", "applies", "only on plants of these kinds; it is not asked on others"),
    ("not_for", "applies", "never on plants of these kinds"),
    ("asked_when", "conditions", "it is not proposed where one of these is known not to be so"),
    ("where", "text", "where exactly it is taken"),
    ("with", "text", "with which instrument"),
    ("accuracy", "measure", "plus or minus so much, of the usual instrument"),
    ("accuracy_by", "accuracy_by", "the same where it is taken another way: {display: 3 psi}"),
    ("refuse", "edges", "what cannot be: 'below 0 psig, above 600 psig'"),
    ("unusual", "edges", "what is asked a second time: 'below 80 psig, above 350 psig'"),
    ("ranges", "ranges", "other edges on some plants, for example with another refrigerant"),
    ("effort", "count", "minutes to take it, standing at the place"),
    ("cautions", "cautions", "hazards of taking it; [] when there are none"),
    ("sheet", "sheet", "where it stands on a sheet by weather and state, kept with the site"),
    SOURCE,
)
DERIVED = shape(
    "a derived value",
    ("id*", "snake_id", "its name in rules, for example defrost_differential"),
    ("title*", "text", "what a technician calls it"),
    ("also", "texts", "what the trade also calls it, for example [TD, split]"),
    ("subject*", "subject", "what it belongs to"),
    ("function*", "function", "how it is computed: 'rackwalk calc list' shows what there is"),
    ("inputs*", "inputs", "from which quantities"),
    ("kinds", "kinds", "on which kinds of plant it means anything: condenser_kind: [air cooled]"),
    ("where", "text", "where it would be read, if it were"),
    ("with", "text", "with which instrument, if it were read"),
    ("accuracy", "measure", "plus or minus so much, where it is given and not computed"),
    ("effort", "count", "minutes to take it, standing at the place"),
    ("cautions", "cautions", "hazards of taking it; [] when there are none"),
    SOURCE,
)
RANGE = shape(
    "a range",
    ("applies*", "applies", "on which plants it holds"),
    ("refuse", "edges", "what cannot be there"),
    ("unusual", "edges", "what is asked a second time there"),
    SOURCE,
)
LIMIT = shape(
    "a limit",
    ("id*", "kebab_id", "its name, for example case-air-frozen-food"),
    ("of*", "number_quantity", "the quantity it judges"),
    _APPLIES,
    ("normal*", "normal", "the normal band: '15 to 20 psi', 'at least 3 psi' or 'at most 2 psi'"),
    ("very_low", "measure", "below this it is very low"),
    ("very_high", "measure", "above this it is very high"),
    ("cannot_judge_when", "conditions", "when the reading says nothing"),
    SOURCE,
    ("note", "text", "what a technician should know about the numbers"),
)
SIGN = shape(
    "a sign",
    ("id*", "snake_id", "its name in rules, for example coil_clears_slowly"),
    ("says*", "text", "the sentence it stands for, without a full stop"),
)
CAUSE = shape(
    "a cause",
    ("id*", "kebab_id", "its name, for example fan-motor-dead"),
    ("title*", "text", "what a technician calls it"),
    ("also", "texts", "what the trade also calls it, for example [low on gas]"),
    ("system*", "text", "the part of the plant it belongs to, a heading of the handbook"),
    ("subject*", "cause_subject", "what is wrong: a circuit, a rack, a compressor, a case"),
    ("is*", "text", "what it is and what it does, one or two sentences"),
    ("confirm*", "texts", "what proves it, one action or observation a line"),
    ("do*", "remedies", "what to do about it, in order"),
    ("cautions", "cautions", "hazards of the work; [] when there are none"),
    ("parts", "texts", "parts it may need, in general words; [] when there are none"),
    ("urgency*", "urgency", "what it endangers"),
    ("leads_to", "causes", "causes that follow from it; they are shown under it"),
    ("applies", "applies", "only such plants can have it; left out, all can"),
    ("can_be_when", "conditions", "it cannot be where one of these is known not to be so"),
    ("met", "met", "how often it is what is behind a call: often, sometimes (left out), seldom"),
    ("symptom", "yes_no", "'yes' for what is only ever an effect; it stands under its cause"),
    (
        "acts_on",
        "acts_on",
        "which states of the plant it makes high or low by itself, or moves either way",
    ),
    ("not_when", "text", "what it looks like when it is not this"),
    SOURCE,
)
PLANT_STATE = shape(
    "a state of the plant",
    ("id*", "snake_id", "its name, for example coil_feed"),
    ("title*", "text", "what it is that can be high, normal or low"),
    ("high_is", "text", "how it is said when it is high, if not by title and 'high'"),
    ("normal_is", "text", "how it is said when it is normal"),
    ("low_is", "text", "how it is said when it is low"),
    ("seen_in", "seen_in", "the ways in which it can be known, the most trusted first"),
)
COMPLAINT = shape(
    "a complaint",
    ("id*", "kebab_id", "its name, for example case-warm"),
    ("says*", "text", "the choice of the quantity 'complaint' that it is"),
    (
        "subjects",
        "subjects",
        "what it may be about: site, rack, compressor, circuit, case; left out, what is looked at",
    ),
    ("systems", "texts", "parts of the plant it is mostly about, as causes name theirs"),
    ("or_when", "conditions", "a call without a complaint is about the same when these are so"),
    ("words", "texts", "other words in which a store says it"),
)
INFLUENCE = shape(
    "an influence",
    ("id*", "kebab_id", "its name, for example less-air-raises-head"),
    ("from*", "plant_state", "the state that moves"),
    ("to*", "plant_state", "the state that follows"),
    ("moves*", "moves", "'with' when both rise together, 'against' when one falls"),
    ("only_when", "direction", "high or low: it acts only when the first state is so"),
    ("always", "yes_no", "'yes' when it always shows; else a control or a reserve may hide it"),
    ("when", "conditions", "it acts unless one of these is known not to be so"),
    ("because*", "text", "why, in one sentence a technician understands"),
    SOURCE,
)
LIKENESS = shape(
    "a likeness",
    ("cause*", "cause", "the cause that plants have which look so"),
    ("shows*", "shows", "by quantity how many of these plants show a word: {high: 0.85}"),
    SOURCE,
)
USUAL_WORDS = shape(
    "usual words",
    ("quantity*", "quantity", "what is read or computed"),
    ("shows*", "word_shares", "how many of all plants that were called for show a word"),
    SOURCE,
)
RULE = shape(
    "a rule",
    ("id*", "kebab_id", "its name, for example fan-dead-and-air-warm"),
    ("when*", "conditions", "all of these must be so"),
    ("unless", "conditions", "it does not count when one of these is known to be so"),
    ("seen", "yes_no", "'yes' where the part itself was seen standing, open or broken"),
    ("evidence_for", "evidence", "which causes it speaks for, and how strongly"),
    ("evidence_against", "evidence", "which causes it speaks against, and how strongly"),
    ("concludes", "signs", "which signs it concludes"),
    (
        "doubts",
        "quantities",
        "readings that cannot all be right when it fires",
    ),
    ("cannot_tell", "cannot_tell", "what stays hidden when it fires, and what would show it"),
    _APPLIES,
    ("because*", "text", "why, in one sentence a technician understands"),
    SOURCE,
    ("tests", "tests", "telling cases: what is given, and whether the rule then fires"),
)
TEST = shape(
    "a test",
    ("given*", "given_values", "what is known; all else is unknown"),
    ("as found", "given_values", "what was read before a change"),
    ("circuits", "given_members", "what is known on other circuits, by their ids"),
    ("compressors", "given_members", "what is known on the compressors, by their ids"),
    ("cases", "given_members", "what is known on the cases, by their ids"),
    ("facts", "facts", "application, defrost, refrigerant, case_type, has"),
    ("expect*", "expectation", "fires, silent (known not to apply) or undecided"),
    ("finds", "finds", "how sure causes then are, by all rules: likely, not found, strong against"),
    ("edge", "text", "the edge or condition beside which the figures lie, if that is their use"),
)
PROOF = shape(
    "a proof",
    ("rule*", "rule", "id of the rule that is proven"),
    ("tests*", "tests", "its further cases, as they could stand beside it"),
)
CAUTION = shape(
    "a caution",
    ("id*", "kebab_id", "its name, of small letters and hyphens"),
    ("title*", "text", "the hazard in a word or two"),
    ("say*", "texts", "what is said before the step"),
    ("ask*", "text", "the question that must be answered with yes"),
    ("for", "texts", "what is never done before it: what steps name in 'does', and gated actions"),
    (
        "access",
        "access",
        "what a reading with it takes: gauges or opening",
    ),
    ("if_no", "if_no", "what a no leads to; left out, what the caution guards is left out"),
    ("on", "applies", "on which plants the work in 'before' needs it too"),
    ("before", "texts", "what is never done before it on those plants"),
    SOURCE,
)
GATE = shape(
    "a gate",
    ("id*", "kebab_id", "its name, for example no-part-without-proof"),
    ("action*", "kebab_id", "the action it holds back"),
    ("needs", "conditions", "all of these must be known to be so"),
    ("never", "yes_no", "'yes' when the action is never advised"),
    ("first*", "text", "what is said instead"),
    SOURCE,
)
PLAUSIBLE_ERROR = shape(
    "a plausible error",
    ("id*", "kebab_id", "its name, for example clamp-on-a-pipe"),
    ("kind*", "kind", "the kind of number it is an error of"),
    ("error*", "measure", "by so much a reading may well be wrong"),
    SOURCE,
)
WAY_OF_READING = shape(
    "a way of reading",
    ("id*", "kebab_id", "its name, for example gauge-manifold"),
    ("title*", "text", "what a technician calls it"),
    ("also", "texts", "other words for it, as typed behind a value: '215 by manifold'"),
    ("accuracy*", "accuracies", "plus or minus so much, by kind: '2 psi or 2 %', the greater"),
    ("in_place_of", "texts", "the ways for which it is used by who has no other"),
    SOURCE,
)
TELLTALE = shape(
    "a telltale",
    ("id*", "kebab_id", "its name, for example words-of-pressure"),
    ("caution", "caution", "the caution that a step with these words needs"),
    ("means", "meaning", "what the words mean where it is no hazard"),
    ("words*", "texts", "regular expressions, one a line, without regard to capitals"),
    ("unless", "texts", "expressions in the same part of the sentence that take it back"),
    ("say", "text", "what to do instead"),
    ("hard", "yes_no", "'yes' for a stop at which nobody goes on"),
    SOURCE,
)
SATURATION_ROW = shape(
    "a line of saturation",
    ("temperature*", "measure", "for example 20 F"),
    ("dew", "measure", "its dew pressure, psia or psig at sea level; left out, it is the bubble's"),
    ("bubble*", "measure", "its bubble pressure"),
)
REFRIGERANT = shape(
    "a refrigerant",
    ("id*", "kebab_id", "its name here, for example r-470a"),
    ("designation*", "text", "what the nameplate says, for example R-470A"),
    ("aliases", "texts", "other names of the same fluid"),
    ("use", "text", "where it is met"),
    ("safety_class*", "safety_class", "of ASHRAE 34"),
    ("gwp*", "gwp", "global warming potential over 100 years by which the law counts it"),
    ("composition", "composition", "per cent by mass of each constituent"),
    ("saturation", "saturation_rows", "a table of your own, coldest line first"),
    ("accuracy", "measure", "plus or minus so much of a saturation temperature; 1 F if left out"),
    SOURCE,
)

LISTS = {
    "quantities": QUANTITY,
    "derived": DERIVED,
    "limits": LIMIT,
    "signs": SIGN,
    "causes": CAUSE,
    "rules": RULE,
    "proof": PROOF,
    "cautions": CAUTION,
    "gates": GATE,
    "plant_states": PLANT_STATE,
    "influences": INFLUENCE,
    "likenesses": LIKENESS,
    "usual_words": USUAL_WORDS,
    "complaints": COMPLAINT,
    "plausible_errors": PLAUSIBLE_ERROR,
    "ways_of_reading": WAY_OF_READING,
    "telltales": TELLTALE,
    "override_limits": OVERRIDE,
    "switch_off": SWITCH_OFF,
    "add_steps": ADD_STEPS,
    "leave_out_steps": LEAVE_OUT_STEPS,
    "refrigerants": REFRIGERANT,
    "coverage": EXPLAINED,
    "analysis": EXPLAINED,
}
SINGLE = {"pack": PACK, "certainty": CERTAINTY}
SECTIONS = (*SINGLE, *LISTS)
PROVING = ("proof", "coverage", "analysis")  # they say that entries are right, and judge nothing
