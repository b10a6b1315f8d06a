"""`rackwalk rules schema`: JSON Schema of the knowledge files, for an editor."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from expert.cli.frame.common import add_pack, print_json, say
from expert.cli.job.load_knowledge import load_rules
from expert.errors import NotWritten, UsageError, nearest

DESCRIPTION = """\
Four schemas (JSON Schema 2020-12): rulebase, checklist, site and practice. They know the names of
the rulebase, also of your own pack with --rulebase, so that an editor offers them while you type;
make them again when names were added. Switch one on by a first line in the file, for example

  # yaml-language-server: $schema=schemas/rulebase.schema.json

in editors that use the YAML language server (a path seen from the file, or from the folder that
is open), or in the editor's settings for all files of a folder."""
EXAMPLES = """\
  rackwalk rules schema --rulebase my-pack --write my-pack/schemas
  rackwalk rules schema checklist"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument(
        "what", nargs="?", metavar="WHAT", help="rulebase, checklist, site or practice"
    )
    parser.add_argument("--write", type=Path, metavar="FOLDER", help="write all of them there")
    add_pack(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; prints one schema, or writes all of them."""
    from expert.author.files.json_schema import FILES, schema_for

    if options.what is None and options.write is None:
        raise UsageError(f"Say which: {', '.join(FILES)}; or --write FOLDER for all of them.")
    if options.what not in (None, *FILES):
        hint = nearest(options.what, FILES) or f"There are: {', '.join(FILES)}."
        raise UsageError(f"There is no schema '{options.what}'. {hint}")
    base = load_rules(options.rulebase)
    if options.write is None:
        print_json(schema_for(options.what, base))
        return 0
    for what in [options.what] if options.what else FILES:
        path = options.write / FILES[what]
        text = json.dumps(schema_for(what, base), indent=1, ensure_ascii=False)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text + "\n", encoding="utf-8")
        except OSError as error:
            raise NotWritten(f"Cannot write {path}: {error.strerror}.") from None
        say(f"{path}")
    return 0
