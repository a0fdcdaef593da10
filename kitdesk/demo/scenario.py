"""Who and what the demo is about. All of it is invented; no person, school or product is meant."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

PRACTICE = {
    "name": "Quiet Bow Studio",
    "instructor": "Demo Owner",
    "email": "desk@quietbow.example",
    "phone": "+49 30 5550100",
    "street": "Resonance Yard 7",
    "city": "Klangstedt",
    "postcode": "12345",
    "country": "DE",
    "currency": "EUR",
    "site_url": "https://desk.example",
    "payment_instructions": "By bank transfer, with the kit's code as the reference.",
}

CARE = """Hold a lead by its housing, never pull the wire.
Lay leads in loose loops; no tight coils, nothing wound round the box.
Put cells in the right way round and use only the charger that came with them.
Gel electrodes are for one use and one person. Wipe the wrist bands before you send them back."""

KIT_TYPE = "Two-lead training kit"
DRAIN_MA = 35

#: kind, name, tracked by serial, price, grams a piece, inner bag
SERIAL_LINES = [
    ("amplifier", "Two-lead amplifier", "240", 180, "instrument bag"),
    ("battery_pack", "Battery pack, two cells", "18", 34, "instrument bag"),
    ("charger", "Charger", "22", 95, "instrument bag"),
    ("lead_set", "Lead set: A, B and ground", "45", 62, "lead pouch"),
    ("licence_key", "Licence key on USB stick", "90", 12, "small parts bag"),
]

# : where each kind of part was made, for parcels that leave the customs area; the rest was made at
# home
MADE_IN = {
    "amplifier": "AT",
    "charger": "SK",
    "battery_pack": "JP",
    "lead_set": "PL",
    "electrodes": "IE",
}


@dataclass(frozen=True)
class CountedLine:
    """A counted contents line with the stock it is taken from."""

    kind: str
    name: str
    quantity: int
    price: str
    grams: int
    bag: str
    comes_back: bool = True
    single_use: bool = False
    cleaned: bool = False
    by_batch: bool = False
    in_stock: int = 0
    reorder_at: int = 0
    shelf: str = ""


#: pieces in a pack, price of a pack, supplier, of what is bought in packs
BOUGHT = {
    "Gel electrodes": (100, "32.00", "Clinic supplies by post"),
    "Skin swabs": (100, "6.50", "Clinic supplies by post"),
    "Layout cards": (50, "9.00", "The print shop"),
    "Shipping boxes": (10, "28.00", "Packaging shop"),
}

COUNTED_LINES = [
    CountedLine(
        "electrodes",
        "Gel electrodes",
        36,
        "0.40",
        2,
        "small parts bag",
        False,
        True,
        False,
        True,
        0,
        300,
        "A1",
    ),
    CountedLine(
        "swabs",
        "Skin swabs",
        12,
        "0.10",
        1,
        "small parts bag",
        False,
        True,
        False,
        True,
        0,
        100,
        "A1",
    ),
    CountedLine(
        "band",
        "Wrist bands",
        2,
        "3.50",
        15,
        "small parts bag",
        cleaned=True,
        in_stock=64,
        reorder_at=20,
        shelf="A2",
    ),
    CountedLine(
        "small_bag", "Small parts bags", 2, "0.90", 8, "", in_stock=70, reorder_at=20, shelf="B1"
    ),
    CountedLine(
        "pouch", "Padded lead pouches", 1, "2.80", 25, "", in_stock=40, reorder_at=12, shelf="B1"
    ),
    CountedLine("card", "Layout cards", 1, "0.50", 6, "", in_stock=24, reorder_at=18, shelf="B2"),
    CountedLine(
        "box", "Shipping boxes", 1, "4.20", 310, "", in_stock=38, reorder_at=12, shelf="C1"
    ),
]

SUMMER_STUDENTS = [
    ("Arvid Saitenlund", "Steggasse 4", "Klangstedt", "12347", "DE"),
    ("Benedikta Zargen", "Wirbelweg 11", "Oberzarge", "23456", "DE"),
    ("Cosima Halbton", "Am Griffbrett 2", "Halbtonau", "34567", "DE"),
    ("Dorota Smyczek", "ul. Podstawka 8", "Strunowo", "00-950", "PL"),
    ("Emeric Touche", "3 rue de la Volute", "Archet-les-Bains", "75001", "FR"),
    ("Femke Kruller", "Strijkstokdijk 21", "Snaarwijk", "1011 AB", "NL"),
    ("Gustaw Struna", "ul. Gryfu 15", "Strunowo", "00-951", "PL"),
    ("Hedda Quintenbach", "Flageolettweg 9", "Bogenfeld", "45678", "DE"),
    ("Ilse Wirbelin", "Obertonstrasse 17", "Klangstedt", "12349", "DE"),
    ("Jorun Stallbogen", "Resonanzplatz 1", "Bogenfeld", "45679", "DE"),
    ("Kasimir Steghaupt", "Schneckengang 3", "Oberzarge", "23457", "DE"),
    ("Λυδία Χορδή", "Οδός Δοξαριού 5", "Αθήνα", "105 57", "GR"),
    ("Mirette Volute", "12 quai du Chevalet", "Archet-les-Bains", "75002", "FR"),
    ("Niklas Decklein", "Bassbalkenweg 6", "Halbtonau", "34568", "DE"),
]

WINTER_STUDENTS = [
    ("Ottilie Bogenhaar", "Kolophonstrasse 12", "Klangstedt", "12350", "DE"),
    ("Pavlína Smyčcová", "Kobylková 30", "Strunov", "110 00", "CZ"),
    ("Quirin Saitling", "Saitenhalter 8", "Saitlingen", "6020", "AT"),
    ("Ragna Stallvik", "Buegata 2", "Strengevik", "0150", "NO"),
    ("Severin Kinnhalt", "Am Steg 44", "Bogenfeld", "45680", "DE"),
    ("Tonja Griffbrett", "Lagenweg 5", "Oberzarge", "23458", "DE"),
    ("Ulla Doppelgriff", "Pizzicatoplatz 9", "Klangstedt", "12351", "DE"),
    ("Veit Stimmstock", "Bodengasse 13", "Stimmwil", "8001", "CH"),
    ("Wanda Kalafonia", "ul. Smyka 2", "Strunowo", "00-952", "PL"),
    ("Xaver Zupfer", "Sarabandenweg 1", "Saitlingen", "6021", "AT"),
    ("Ylva Stråkhed", "Resonansgatan 19", "Strängby", "111 20", "SE"),
    ("Zita Kontra", "Bassgeigenallee 27", "Halbtonau", "34569", "DE"),
    ("Anselm Tremolo", "Leggiostrasse 10", "Stimmwil", "8002", "CH"),
    ("Brida Legato", "Bindebogen 14", "Bogenfeld", "45681", "DE"),
    ("Corvin Spiccato", "Springbogen 7", "Klangstedt", "12352", "DE"),
    ("Delia Sordino", "Am Dämpfer 3", "Oberzarge", "23459", "DE"),
]

SPRING_STUDENTS = [
    ("Emmo Stegreif", "Kolophongasse 5", "Klangstedt", "12353", "DE"),
    ("Frieda Obersaite", "Am Wirbelkasten 9", "Bogenfeld", "45682", "DE"),
    ("Gesine Flautando", "Lagenwechsel 3", "Halbtonau", "34570", "DE"),
    ("Hilmar Pultnachbar", "Schlossgriff 16", "Oberzarge", "23460", "DE"),
    ("Ildiko Vonó", "Húr utca 12", "Vonósfalva", "1011", "HU"),
]

#: What students of a country read, where it is not what the practice's mails are in.
READ_IN = {"FR": "fr", "AT": "de-at", "CH": "de-ch"}

BATCHES = [
    ("Gel electrodes", "GE-0714", 600, -20),
    ("Gel electrodes", "GE-0931", 620, 70),
    ("Gel electrodes", "GE-1102", 900, 400),
    ("Skin swabs", "SW-33", 240, 250),
]

#: lead colours of this practice, its own choice
COLOURS = {"A": "sand", "B": "plum", "ground": "slate"}


def price(text: str) -> Decimal:
    """A price of the scenario as money."""
    return Decimal(text)
