"""A short name for what something was worked out from."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable


def lines_hash(lines: Iterable[str]) -> str:
    """Return the SHA-256 (FIPS 180-4) of lines, each ended by a line feed, in hex."""
    digest = hashlib.sha256()
    for line in lines:
        digest.update(f"{line}\n".encode())
    return digest.hexdigest()
