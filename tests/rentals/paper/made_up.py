"""One invented parcel and its practice, as facts."""

from datetime import date
from decimal import Decimal

from rentals.codes import make_code
from rentals.paper.facts import Address, PackingLineFacts, PackingListFacts, PracticeFacts

Line = PackingLineFacts

PRACTICE = PracticeFacts(
    name="Ease at the Instrument, Tannenhof Music College",
    instructor="Ilse Varga",
    email="desk@ease.example",
    phone="+49 30 5550 0199",
    address=Address(
        "Ease at the Instrument", "Lindengang 4", "Musterhausen", "10999", country="DE"
    ),
    site_url="https://kits.ease.example",
)

LINES = (
    Line(
        "Two-lead amplifier",
        "amplifier",
        serial="AM-20817",
        part_code=make_code("P", 101),
        inner_bag="Padded pouch",
        mass_g=118,
        price=Decimal(240),
        shelf="A2",
    ),
    Line(
        "Licence key on USB stick",
        "licence_key",
        serial="LK-5531-09",
        part_code=make_code("P", 102),
        inner_bag="Padded pouch",
        mass_g=9,
        price=Decimal(85),
        shelf="A2",
    ),
    Line(
        "Padded pouch", "pouch", inner_bag="Padded pouch", mass_g=60, price=Decimal(12), shelf="C1"
    ),
    Line(
        "Lead set, two active and ground",
        "lead_set",
        serial="LS-0442",
        part_code=make_code("P", 103),
        inner_bag="Lead bag",
        mass_g=41,
        price=Decimal(60),
        shelf="A3",
    ),
    Line(
        "Lead bag with zip",
        "small_bag",
        inner_bag="Lead bag",
        mass_g=6,
        price=Decimal(2),
        shelf="C2",
    ),
    Line(
        "Battery pack, two AAA",
        "battery_pack",
        serial="BP-1190",
        part_code=make_code("P", 104),
        inner_bag="Power bag",
        mass_g=30,
        price=Decimal(14),
        shelf="B1",
    ),
    Line(
        "Charger for NiMH",
        "charger",
        serial="CH-0077",
        part_code=make_code("P", 105),
        inner_bag="Power bag",
        mass_g=95,
        price=Decimal(22),
        shelf="B1",
    ),
    Line(
        "Power bag with zip",
        "small_bag",
        inner_bag="Power bag",
        mass_g=6,
        price=Decimal(2),
        shelf="C2",
    ),
    Line(
        "Pre-gelled electrodes",
        "electrodes",
        quantity=24,
        batch="EG-2611-B",
        expires_on=date(2027, 10, 31),
        comes_back=False,
        single_use=True,
        inner_bag="Consumables",
        mass_g=1,
        price=Decimal("0.4"),
        shelf="B4",
    ),
    Line(
        "Dry electrodes, reusable",
        "electrodes",
        quantity=3,
        cleaned=True,
        inner_bag="Consumables",
        mass_g=4,
        price=Decimal(6),
        shelf="B4",
    ),
    Line(
        "Skin swabs",
        "swabs",
        quantity=10,
        batch="SW-77",
        expires_on=date(2028, 1, 31),
        comes_back=False,
        single_use=True,
        inner_bag="Consumables",
        mass_g=2,
        price=Decimal("0.1"),
        shelf="B5",
    ),
    Line(
        "Elastic band",
        "band",
        quantity=2,
        cleaned=True,
        inner_bag="Consumables",
        mass_g=15,
        price=Decimal(3),
        shelf="B5",
    ),
    Line("Quick card, first session", "card", mass_g=12, price=Decimal(1), shelf="C3"),
    Line("Posting box", "box", mass_g=210, price=Decimal(4), shelf="C4"),
)

PARCEL = PackingListFacts(
    practice=PRACTICE,
    kit_code=make_code("K", 14),
    kit_type="Two-lead training kit, strings",
    student="Łucja Ábrahám",
    run="Ease at the Instrument, spring 2027",
    lines=LINES,
    return_by=date(2027, 6, 18),
    post_by=date(2027, 2, 26),
    course_from=date(2027, 3, 8),
    course_to=date(2027, 6, 4),
    override_reason="Only kit left; lead B was flexed by hand without a break.",
    overridden_by="ilse",
    deposit=Decimal(150),
    address=Address("Łucja Ábrahám", "12 Harbour Row", "Galway", "H91 X2Y3", country="IE"),
)
