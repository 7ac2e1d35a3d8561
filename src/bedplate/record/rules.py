"""What an entry may say of the entries before it. Ledger and verification hold the same rules."""

from __future__ import annotations

from typing import Protocol

from bedplate.errors import ConflictError, NotFoundError, NotPossibleError
from bedplate.record.entries import (
    AnyEntry,
    BoltTightened,
    BuildStarted,
    ComparatorSet,
    Numbered,
    Reading,
    Signed,
    StageDone,
    TighteningBegun,
    TighteningStopped,
    Withdrawn,
)
from bedplate.record.shop_rules import Earlier, ShopEntry, check_shop


class Before(Earlier, Protocol):
    """The record of one build before an entry."""

    def entry(self, id: str) -> Numbered | None:
        """Return an earlier entry of this build."""
        ...

    def hash_at(self, number: int) -> str | None:
        """Return the hash of an earlier entry of this build."""
        ...


def check_references(build: str, number: int, entry: AnyEntry, before: Before) -> None:
    """Refuse an entry that the record before it does not allow.

    :param number: place it would have
    :raises NotFoundError: what it refers to is not in this build before it
    :raises NotPossibleError: it refers to something of another kind, or may not stand here
    :raises ConflictError: it starts a build that has been started
    """
    _check_start(build, number, entry)
    if isinstance(entry, Withdrawn):
        _check_withdrawn(build, entry, before)
    elif isinstance(entry, Reading) and entry.setting:
        _check_setting(build, entry, before)
    elif isinstance(entry, Signed):
        _check_signed(number, entry, before)
    elif isinstance(entry, BoltTightened | StageDone | TighteningStopped):
        _check_run(build, entry, before)
    elif isinstance(entry, ShopEntry):
        check_shop(build, entry, before)


def _check_start(build: str, number: int, entry: AnyEntry) -> None:
    if not isinstance(entry, BuildStarted):
        if number == 1:
            sentence = f"There is no build '{build}'."
            raise NotFoundError(sentence, hint="A record begins with 'build started'.")
        return
    if number != 1:
        sentence = f"The build '{build}' has been started already."
        raise ConflictError(sentence, hint="Give the new build another name.")
    if entry.build != build:
        sentence = f"An entry that starts '{entry.build}' cannot stand in the record of '{build}'."
        raise NotPossibleError(sentence)


def _check_withdrawn(build: str, entry: Withdrawn, before: Before) -> None:
    target = before.entry(entry.target)
    if target is None:
        sentence = f"There is no entry {entry.target} in the record of '{build}' to withdraw."
        raise NotFoundError(sentence)
    if isinstance(target.entry, Withdrawn):
        sentence = f"Entry {target.number} is a withdrawal, which cannot be withdrawn."
        raise NotPossibleError(sentence, hint="Enter again what was withdrawn by mistake.")
    if isinstance(target.entry, BuildStarted):
        sentence = "The entry that started the build cannot be withdrawn."
        raise NotPossibleError(sentence, hint="Revise the engine file, or start another build.")


def _check_setting(build: str, entry: Reading, before: Before) -> None:
    setting = before.entry(entry.setting)
    if setting is None:
        sentence = f"There is no setting {entry.setting} in the record of '{build}'."
        raise NotFoundError(sentence, hint="Set the comparator first.")
    if not isinstance(setting.entry, ComparatorSet):
        sentence = f"Entry {setting.number} is no setting of a comparator."
        raise NotPossibleError(sentence)
    if setting.entry.gauge != entry.gauge:
        sentence = (
            f"Entry {setting.number} set '{setting.entry.gauge}', but the reading was taken "
            f"with '{entry.gauge}'."
        )
        raise NotPossibleError(sentence)


def _check_signed(number: int, entry: Signed, before: Before) -> None:
    if not 1 <= entry.count < number:
        sentence = f"{entry.count} entries cannot be signed; {number - 1} stand in the record."
        raise NotPossibleError(sentence)
    if before.hash_at(entry.count) != entry.head:
        sentence = f"What was signed is not the record's first {entry.count} entries."
        raise NotPossibleError(sentence, hint="Look at the record again before signing.")


def _check_run(
    build: str, entry: BoltTightened | StageDone | TighteningStopped, before: Before
) -> None:
    run = before.entry(entry.run)
    if run is None:
        sentence = f"There is no tightening run {entry.run} in the record of '{build}'."
        raise NotFoundError(sentence, hint="Begin the run first.")
    if not isinstance(run.entry, TighteningBegun):
        sentence = f"Entry {run.number} begins no tightening run."
        raise NotPossibleError(sentence)
