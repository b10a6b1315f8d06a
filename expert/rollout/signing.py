"""Ed25519 keys and signatures (RFC 8032), by the library 'cryptography'.

A public key is written as 'ed25519:' and its 32 bytes in base64; a private one is a PKCS 8 file
(PEM) for its owner only, with a passphrase where one is given.
"""

from __future__ import annotations

import os
from base64 import b64decode, b64encode
from binascii import Error as Base64Error
from pathlib import Path
from typing import TYPE_CHECKING

from expert.errors import RackwalkError, UsageError

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

MARK = "ed25519:"
_MISSING = "Signed packs need more than is installed: pip install 'rackwalk[company]'."


def new_key(path: Path, passphrase: str = "") -> str:
    """Write a new private key into a file that is not there yet; gives the public key."""
    try:
        from cryptography.hazmat.primitives import serialization as form
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    except ImportError:
        raise RackwalkError(_MISSING) from None
    key = Ed25519PrivateKey.generate()
    locked: form.KeySerializationEncryption = form.NoEncryption()
    if passphrase:
        locked = form.BestAvailableEncryption(passphrase.encode())
    data = key.private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, locked)
    try:
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(data)
    except FileExistsError:
        raise UsageError(f"{path} is there already; a key is never written over.") from None
    except OSError as error:
        raise UsageError(f"Cannot write {path}: {error.strerror}.") from None
    return _public(key)


def sign(message: bytes, path: Path, passphrase: str = "") -> tuple[str, str]:
    """The signature of a message by the key in a file, and its public key. Raises UsageError."""
    key = _read(path, passphrase)
    return b64encode(key.sign(message)).decode("ascii"), _public(key)


def is_locked(path: Path) -> bool:
    """Whether a key file asks for a passphrase."""
    try:
        return b"ENCRYPTED" in path.read_bytes()[:200]
    except OSError:
        return False


def is_signed(message: bytes, signature: str, public: str) -> bool:
    """Whether a message was signed by the owner of a public key."""
    try:
        from cryptography.exceptions import InvalidSignature
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
    except ImportError:
        raise RackwalkError(_MISSING) from None
    try:
        raw = b64decode(public.removeprefix(MARK), validate=True)
        Ed25519PublicKey.from_public_bytes(raw).verify(b64decode(signature, validate=True), message)
    except (InvalidSignature, ValueError, Base64Error):
        return False
    return True


def public_key(text: str) -> str:
    """A public key as it is written. Raises UsageError for what is none."""
    try:
        whole = len(b64decode(text.removeprefix(MARK), validate=True)) == 32
    except (ValueError, Base64Error):
        whole = False
    if not text.startswith(MARK) or not whole:
        raise UsageError(f"'{text}' is no public key. It begins with '{MARK}'.")
    return text


def _read(path: Path, passphrase: str) -> Ed25519PrivateKey:
    try:
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
        from cryptography.hazmat.primitives.serialization import load_pem_private_key
    except ImportError:
        raise RackwalkError(_MISSING) from None
    try:
        data = path.read_bytes()
        open_to_others = os.name != "nt" and path.stat().st_mode & 0o077
    except OSError as error:
        raise UsageError(f"Cannot read the key {path}: {error.strerror}.") from None
    if open_to_others:
        raise UsageError(f"The key {path} can be read by others: chmod 600 {path}")
    try:
        key = load_pem_private_key(data, passphrase.encode() or None)
    except (ValueError, TypeError):
        raise UsageError(f"{path} is no private key, or its passphrase is another one.") from None
    if not isinstance(key, Ed25519PrivateKey):
        raise UsageError(f"{path} is no Ed25519 key. 'rackwalk packs new-key' makes one.")
    return key


def _public(key: Ed25519PrivateKey) -> str:
    return MARK + b64encode(key.public_key().public_bytes_raw()).decode("ascii")
