"""`rackwalk packs new-key` and `change-key`: the keys with which packs are signed."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.company.publish import add_key, give_out
from expert.cli.company.server import add_server, open_server, typed_passphrase
from expert.cli.frame.common import say
from expert.cli.frame.options import add_who


def DESCRIPTION(action: str) -> str:  # noqa: N802 - the name under which texts of a command stand
    """What is said of an action."""
    return {
        "new-key": """\
The file is for its owner only; whoever has it can give packs out, so keep it off the machines that
take them, and a copy in a safe place. The public half is no secret: every machine is told it once,
best in the settings of the company (rackwalk settings keys ed25519:... --company).""",
        "change-key": """\
Given out like a version, signed with the key in use: from then on packs are signed with the new
one, and machines that trusted the old one trust it by themselves. A key that is LOST cannot do
this: make a new one, keep its public half beside the old one in the settings of every machine, and
go on publishing with it. A key that others may HAVE is taken out of the settings of every machine
at once; what it signed is refused from then on, earlier versions too, so the pack is given out
again into an empty store of releases.""",
    }[action]


def EXAMPLES(action: str) -> str:  # noqa: N802
    """Examples of an action."""
    return {
        "new-key": "  rackwalk packs new-key office.pem",
        "change-key": "  rackwalk packs change-key ed25519:... --key office.pem --who 'R. Sample'",
    }[action]


def add_arguments(parser: argparse.ArgumentParser, action: str) -> None:
    """Options of an action."""
    parser.set_defaults(action=action)
    if action == "new-key":
        parser.add_argument("file", type=Path, metavar="FILE", help="where the private key goes")
        parser.add_argument("--passphrase", action="store_true", help="ask for one that locks it")
        return
    parser.add_argument("public", metavar="PUBLIC", help="the new public key")
    add_key(parser)
    add_who(parser, "who changes it")
    add_server(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; of 'new-key' the public key is the last line."""
    from expert.rollout.release import KEY
    from expert.rollout.signing import new_key, public_key, sign

    if options.action == "new-key":
        typed = typed_passphrase(options.file, new=True) if options.passphrase else ""
        public = new_key(options.file, typed)
        say(f"Private key, to be kept safe: {options.file}")
        say("Public key, for the settings 'keys' of every machine:")
        say(public)
        return 0
    new = public_key(options.public)
    _, old = sign(b"", options.key, typed_passphrase(options.key))
    with open_server(options.server) as store:
        give_out(store, options, KEY, "", key=new, instead=old)
    say(f"From now on packs are signed with {new}.")
    return 0
