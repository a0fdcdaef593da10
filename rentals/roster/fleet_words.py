"""The words people use in tables of their fleet: headings, and kinds of parts with a serial."""

from __future__ import annotations

from collections.abc import Mapping

from .columns import Vocabulary, plain

#: What a table of a fleet says of a part, in the order shown.
FLEET_FIELDS = {"kit": "Kit", "kind": "Kind", "serial": "Serial number"}
_HEADS = {
    "kit": (
        "kit|kit no|kit nr|kit number|kit id|kit code|kit label|kit name|in kit|set|set"
        " no|case|koffer|set nr|kit nummer|jeu|equipo"
    ),
    "kind": (
        "kind|kind of part|part|part kind|part type|part name|type|item|component|device|article|"
        "what|art|teil|gerät|bezeichnung|pièce|genre|tipo|pieza|onderdeel|soort"
    ),
    "serial": (
        "serial|serial number|serial no|serial nr|serials|sn|s n|ser no|number|mark|seriennummer|"
        "serien nr|seriennr|numéro de série|n série|número de serie|numero di serie|serienummer"
    ),
}
#: Kinds by the names of `PartKind`.
_KINDS = {
    "amplifier": (
        "amplifier|amp|emg|emg amplifier|emg unit|emg device|unit|device|instrument|sensor|"
        "verstärker|messgerät|amplificateur|amplificador|amplificatore|versterker"
    ),
    "licence_key": (
        "licence key|license key|licence|license|licence stick|license stick|key|dongle|usb"
        " key|usb stick|stick|software key|lizenz|lizenzschlüssel|schlüssel|clé|clé de"
        " licence|licencia|llave|chiave|licenza|licentie"
    ),
    "lead_set": (
        "lead set|lead|leads|leadset|set of leads|electrode leads|electrode cables|cable set|lead"
        " wires|kabelsatz|ableitkabel|elektrodenkabel|jeu de câbles|juego de cables|set di"
        " cavi|kabelset"
    ),
    "battery_pack": (
        "battery pack|battery|batteries|pack|power pack|cells|cell holder|cells in their"
        " holder|akku|akkupack|batterie|batterien|pile|piles|batería|pilas|batteria|batterij"
    ),
    "charger": (
        "charger|battery charger|charging unit|ladegerät|lader|chargeur|cargador|caricatore|oplader"
    ),
}
_COUNTED = (
    "electrode|electrodes|gel electrodes|dry electrodes|swab|swabs|band|bands|wrist band|head"
    " band|box|pouch|bag|bags|small bag|card|cable|elektroden|tupfer"
)
#: What the screens call each kind, in the order in which they are proposed.
KIND_LABELS = {
    "amplifier": "amplifier",
    "licence_key": "licence key",
    "lead_set": "lead set",
    "battery_pack": "battery pack",
    "charger": "charger",
}
_KIND_OF = {plain(word): kind for kind, words in _KINDS.items() for word in words.split("|")}
_COUNTED_WORDS = {plain(word) for word in _COUNTED.split("|")}


def kind_meant(text: str, own_names: Mapping[str, str] | None = None) -> str:
    """The kind that a word stands for, or "" where none is known: ``"Dongle"`` is ``licence_key``.
    `own_names` are names of contents lines, as `plain` gives them, with their kinds.
    """
    word = plain(text)
    return (own_names or {}).get(word) or _KIND_OF.get(word, "")


def is_counted(text: str) -> bool:
    """Whether a word stands for things that are counted and have no serial."""
    return plain(text) in _COUNTED_WORDS


FLEET_HEADS = Vocabulary(FLEET_FIELDS, _HEADS, in_a_row=lambda cell: bool(kind_meant(cell)))
