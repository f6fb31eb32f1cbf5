"""Optional encryption at rest: a passphrase, stretched by scrypt, seals each record on its own with AES-256-GCM.

The record's number is bound in as associated data, so that a record cannot be moved, nor one put in place of
another, unseen. What stays in clear: how many records there are and when each was written, and the kit.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from typing import Any

# scrypt: 2^15 blocks of 8 (32 MiB), once; twice the interactive cost that RFC 7914 (section 2) takes as its example.
_COST = 2**15
_BLOCK_SIZE = 8
_SALT_BYTES = 16
# NIST SP 800-38D, section 8.2.2: random 96-bit nonces are sound up to 2^32 records under one key.
_NONCE_BYTES = 12
_PROOF = b"this passphrase opens the incident"


class SealError(ValueError):
    """The passphrase is wrong, or the record is not what was sealed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """A key in hand: seals records and opens them."""

    salt: bytes
    _cipher: Any = field(repr=False)

    @classmethod
    def made(cls, passphrase: str, salt: bytes | None = None) -> Seal:
        """A seal from a passphrase, with a new salt where none is given; raises SealError without the library."""
        if not passphrase:
            raise SealError("an empty passphrase seals nothing")
        try:
            from cryptography.hazmat.primitives.ciphers.aead import AESGCM
            from cryptography.hazmat.primitives.kdf.scrypt import Scrypt
        except ImportError as error:
            raise SealError("sealing needs the library cryptography: pip install 'oxygen-assistant[crypt]'") from error
        salt = os.urandom(_SALT_BYTES) if salt is None else salt
        key = Scrypt(salt=salt, length=32, n=_COST, r=_BLOCK_SIZE, p=1).derive(passphrase.encode())
        return cls(salt=salt, _cipher=AESGCM(key))

    @property
    def proof(self) -> bytes:
        """A sealed constant, by which a wrong passphrase is told from a damaged record."""
        return self.sealed(0, _PROOF)

    def proves(self, proof: bytes) -> bool:
        """Whether this seal made the proof."""
        try:
            return self.opened(0, proof) == _PROOF
        except SealError:
            return False

    def sealed(self, number: int, text: bytes) -> bytes:
        """The text under seal as record `number`: a fresh nonce, then the ciphertext with its tag."""
        nonce = os.urandom(_NONCE_BYTES)
        return nonce + bytes(self._cipher.encrypt(nonce, text, _bound(number)))

    def opened(self, number: int, sealed: bytes) -> bytes:
        """The text of record `number`; raises SealError where it is not what was sealed there."""
        from cryptography.exceptions import InvalidTag

        try:
            return bytes(self._cipher.decrypt(sealed[:_NONCE_BYTES], sealed[_NONCE_BYTES:], _bound(number)))
        except (InvalidTag, ValueError) as error:
            raise SealError(f"record {number} is not what was sealed") from error


def _bound(number: int) -> bytes:
    return b"oxygen-assistant record %d" % number
