"""What a kit ought to hold against what is fitted now: the sentences that say what lacks."""

from __future__ import annotations

from rentals.models import ContentsLine, Kit, Part


def lacking(kit: Kit) -> list[str]:
    """Sentences naming each part that is missing from the kit or damaged in it; empty for a
    complete kit.
    """
    fitted: dict[str, list[Part]] = {}
    for part in kit.parts.all():
        fitted.setdefault(part.kind, []).append(part)
    said = []
    for line in kit.kit_type.lines.all():
        if line.tracked_by != ContentsLine.Tracked.SERIAL:
            continue
        parts = fitted.get(line.part_kind, [])
        short = line.quantity - len(parts)
        if short > 0:
            count = f"{short} x " if short > 1 else ""
            said.append(f"{count}{line.name} is missing: fit a spare.")
        for part in parts:
            if part.damaged:
                why = f" ({part.damage_note})" if part.damage_note else ""
                said.append(f"{line.name} {part.code} is damaged{why}: swap it.")
    return said


def gate(kit: Kit) -> list[str]:
    """Sentences naming what stands against issuing the kit: not cleared, incomplete. Empty means it
    may go out.
    """
    said = []
    if not kit.cleared:
        said.append(
            kit.not_cleared_reason or "It has not passed the bench since its last return: test it."
        )
    return said + lacking(kit)
