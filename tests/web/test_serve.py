"""`rackwalk serve` as it is typed: what it refuses, what it tells, with a certificate or not."""

from __future__ import annotations

import argparse
import re
import ssl
import threading
from datetime import UTC, datetime, timedelta
from http.client import HTTPSConnection
from pathlib import Path
from urllib.parse import urlencode

import pytest
import uvicorn
from small_server import options

from expert.cli.frame.main import main
from expert.cli.web.companies import read_companies
from expert.cli.web.serve import _told_where, make_service
from expert.errors import PackError, UsageError
from expert.web.app import make_app
from expert.web.roles import role_named
from expert.web.serving import bound

GOOD = """\
companies:
  - {id: north, jobs: north}
people:
  - {name: A. Sample, signs in as: a@north.example, role: lead, company: north}
"""


@pytest.mark.parametrize(
    "words",
    [
        ["--certificate", "x.pem"], ["--key", "x.pem"], ["--sign-in-header", "Remote-User"],
        ["--people", "people.yaml"], ["--proxy", "10.0.0.1"], ["--role", "boss"],
        ["--listen", "no.such.address.invalid", "--port", "0"], ["--port", "99999"],
    ],
    ids=" ".join,
)  # fmt: skip
def test_what_cannot_work_is_told_in_a_sentence(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["serve", "--jobs", str(tmp_path), *words]) == 2
    said = capsys.readouterr().err
    assert said.startswith("rackwalk: ") and "Traceback" not in said


def test_a_certificate_that_cannot_work_is_refused_before_anybody_is_asked_in(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("own.pem", "own.key"):
        (tmp_path / name).write_text("no certificate", "utf-8")
    files = ["--certificate", str(tmp_path / "own.pem"), "--key", str(tmp_path / "own.key")]
    jobs = tmp_path / "jobs"
    assert main(["serve", "--jobs", str(jobs), "--port", "0", *files]) == 2
    told = capsys.readouterr()
    assert "The certificate or its key cannot be read" in told.err
    assert not told.out
    assert not [*jobs.rglob("*.db")]


def test_a_role_is_known_by_its_name_and_a_slip_is_helped() -> None:
    assert role_named("Read-Only") == "read only"
    with pytest.raises(UsageError, match="Did you mean 'technician'"):
        role_named("tecnician")


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ("role: lead", "role: boss", 4, "boss"),
        ("company: north", "company: nort", 4, "north"),
        ("  - {id: north, jobs: north}", "  - {id: north}", 2, "'jobs:' is missing"),
        ("id: north, jobs", "id: north, jbos", 2, "jbos"),
        ("name: A. Sample, ", "", 4, "'name:' is missing"),
        ("  - {id: north, jobs: north}",
         "  - {id: north, jobs: north}\n  - {id: south, jobs: north}", 3, "share their jobs"),
        ("company: north}",
         "company: north}\n  - {name: B, signs in as: A@north.example, role: lead, company: north}",
         5, "listed twice"),
        ("people:\n" + GOOD.splitlines()[3], "people: []", 1, "Nobody is listed"),
    ],
)  # fmt: skip
def test_a_mistake_in_the_file_of_people_is_told_with_its_line(
    tmp_path: Path, old: str, new: str, line: int, says: str
) -> None:
    path = tmp_path / "people.yaml"
    path.write_text(GOOD, "utf-8")
    assert [*read_companies(path).people] == ["a@north.example"]
    assert old in GOOD
    path.write_text(GOOD.replace(old, new), "utf-8")
    with pytest.raises(PackError) as refused:
        read_companies(path)
    assert f"people.yaml:{line}:" in str(refused.value)
    assert says in str(refused.value)


@pytest.mark.parametrize(
    ("listen", "certificate", "warns"),
    [("127.0.0.1", None, False), ("0.0.0.0", None, True), ("0.0.0.0", Path("x"), False)],
)
def test_a_network_without_a_certificate_is_warned_of(
    capsys: pytest.CaptureFixture[str], listen: str, certificate: Path | None, warns: bool
) -> None:
    asked = argparse.Namespace(listen=listen, certificate=certificate, proxy=[], name=[])
    with bound("127.0.0.1", 0) as listening:
        _told_where(asked, listening)
    said = capsys.readouterr().out
    assert ("can read along" in said) == warns
    assert re.search(r"Open in a browser: https?://\S+:\d+", said)


def test_with_a_certificate_the_cookie_is_for_tls_only(tmp_path: Path) -> None:
    pytest.importorskip("cryptography")
    certificate, key = _certificate(tmp_path)
    service = make_service(options(tmp_path, certificate=certificate, key=key))
    config = uvicorn.Config(
        make_app(service), log_config=None, ssl_certfile=certificate, ssl_keyfile=key, ws="none"
    )
    server = uvicorn.Server(config)
    with bound("127.0.0.1", 0) as listening:
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        trusted = ssl.create_default_context(cafile=str(certificate))
        port = listening.getsockname()[1]
        try:
            while not server.started:
                thread.join(0.02)
            connection = HTTPSConnection("localhost", port, context=trusted)
            body = urlencode({"code": service.pairing.new("lead").text, "name": "A. Sample"})
            kind = {"Content-Type": "application/x-www-form-urlencoded"}
            connection.request("POST", "/pair", body, kind)
            answer = connection.getresponse()
            answer.read()
            told = answer.getheader("set-cookie", "").lower()
            assert told.startswith("__host-rackwalk=") and "secure" in told and "path=/" in told
            assert answer.getheader("strict-transport-security")
            connection.close()
        finally:
            server.should_exit = True
            thread.join(20)


def _certificate(folder: Path) -> tuple[Path, Path]:
    """A certificate of its own for this machine, good for an hour."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "localhost")])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder().subject_name(name).issuer_name(name)
        .public_key(key.public_key()).serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1)).not_valid_after(now + timedelta(hours=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("localhost")]), critical=False)
        .sign(key, hashes.SHA256())
    )  # fmt: skip
    paths = folder / "own.pem", folder / "own.key"
    paths[0].write_bytes(made.public_bytes(serialization.Encoding.PEM))
    paths[1].write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )  # fmt: skip
    return paths
