import pytest

from rentals.codes import code_link, grouped, make_code
from rentals.paper.facts import LabelFacts
from rentals.paper.labels import (
    calibration_page,
    kit_labels,
    lead_tags,
    part_labels,
    ruler_place,
)
from rentals.paper.sheets import (
    KIT_SHEET,
    LETTER_SHEET,
    PARCEL_SHEET,
    SHEETS,
    TAG_SHEET,
    SheetLayout,
)

from .boxes import drawn_texts, trouble_on_page, trouble_on_sheet
from .reading import as_photographed, codes_in, page_sizes, page_texts, picture, poor, text_of

SITE = "https://kits.ease.example"


def labels(prefix: str, count: int) -> list[LabelFacts]:
    return [
        LabelFacts(
            make_code(prefix, n),
            f"Thing {n}",
            ("serial 1", "second line"),
            SITE,
            "Ease at the Instrument",
        )
        for n in range(1, count + 1)
    ]


def links(facts: list[LabelFacts]) -> list[str]:
    return sorted(code_link(SITE, label.code) for label in facts)


@pytest.mark.parametrize(
    ("make", "prefix", "sheet"),
    [
        (kit_labels, "K", KIT_SHEET),
        (kit_labels, "K", LETTER_SHEET),
        (part_labels, "P", TAG_SHEET),
        (part_labels, "P", LETTER_SHEET),
        (lead_tags, "L", TAG_SHEET),
    ],
)
def test_every_code_of_a_full_sheet_reads_back(make, prefix, sheet):
    facts = labels(prefix, sheet.count)
    pdf = make(facts, sheet).pdf
    assert codes_in(picture(pdf, dpi=300)) == links(facts)
    page = poor(picture(pdf, dpi=150))
    for position, label in enumerate(facts):
        x, y = sheet.place(position)
        edges = (x, y, x + sheet.label[0], y + sheet.label[1])
        scanned = page.crop(tuple(round(mm / 25.4 * 150) for mm in edges))
        assert codes_in(scanned) == [code_link(SITE, label.code)]


@pytest.mark.parametrize(
    ("make", "prefix"), [(kit_labels, "K"), (part_labels, "P"), (lead_tags, "L")]
)
def test_the_code_stands_beside_it_for_people(make, prefix):
    facts = labels(prefix, 3)
    text = text_of(make(facts).pdf)
    for label in facts:
        assert grouped(label.code) in text
        assert label.title in text
        assert "second line" in text


def test_a_part_used_sheet_starts_at_its_first_free_label():
    facts = labels("K", 3)
    printed = kit_labels(facts, start=20)
    first, second = page_texts(printed.pdf)
    assert printed.pages == 2
    assert "Thing 1" in first
    assert "Thing 2" in first
    assert "Thing 3" in second
    # Position 20 of 3 x 7 is the second label of the last row; position 1 of the next sheet its top
    # left one.
    x, y = (round(mm / 25.4 * 100) for mm in KIT_SHEET.place(19))
    w, h = (round(mm / 25.4 * 100) for mm in KIT_SHEET.label)
    page = picture(printed.pdf, 0, 100)
    assert page.crop((x, y, x + w, y + h)).getextrema()[0] < 128
    assert page.crop((0, 0, page.width, y - 1)).getextrema() == (255, 255)


@pytest.mark.parametrize("start", [0, 22, -1])
def test_a_start_the_sheet_does_not_have_is_refused(start):
    with pytest.raises(ValueError, match="labels 1 to 21"):
        kit_labels(labels("K", 1), start=start)


def test_a_label_too_small_for_a_readable_code_is_refused():
    tiny = SheetLayout("tiny", (210, 297), 1, 1, (14, 9), (14, 9), (10, 10))
    with pytest.raises(ValueError, match=r"needs 11\.2 mm of room"):
        part_labels(labels("P", 1), tiny)


def test_nothing_is_printed_outside_the_labels():
    for make, prefix, sheet in ((kit_labels, "K", KIT_SHEET), (lead_tags, "L", TAG_SHEET)):
        page = picture(make(labels(prefix, sheet.count), sheet).pdf, dpi=150)
        for position in range(sheet.count):
            x, y = sheet.place(position)
            w, h = sheet.label
            page.paste(
                255,
                tuple(round(v / 25.4 * 150) for v in (x - 0.1, y - 0.1, x + w + 0.1, y + h + 0.1)),
            )
        assert page.getextrema() == (255, 255)


def test_the_calibration_page_draws_each_label_where_it_is_and_a_true_ruler():
    printed = calibration_page(KIT_SHEET)
    assert page_sizes(printed.pdf) == [pytest.approx((595.2756, 841.8898), abs=1e-3)]
    dpi = 254  # ten dots a millimetre
    page = picture(printed.pdf, dpi=dpi)
    for position in range(KIT_SHEET.count):
        x, y = KIT_SHEET.place(position)
        middle = round((y + 10) * 10)
        row = page.crop((round(x * 10) - 3, middle, round(x * 10) + 4, middle + 1))
        assert row.getextrema()[0] < 128, f"no left edge at label {position + 1}"
    down = round(10 * ruler_place(KIT_SHEET, 1))
    dark = [i for i in range(500, 1600) if page.getpixel((i, down)) < 128]
    assert dark[0] in range(548, 553)
    assert 1550 in dark or 1549 in dark
    assert "100 mm" in text_of(printed.pdf)


def test_the_same_labels_give_the_same_bytes():
    assert kit_labels(labels("K", 5)).pdf == kit_labels(labels("K", 5)).pdf


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=lambda sheet: sheet.name)
def test_the_ruler_keeps_off_the_edges_and_middles_of_labels(sheet):
    for axis in (0, 1):
        place = ruler_place(sheet, axis)
        side, count = sheet.label[axis], (sheet.columns, sheet.rows)[axis]
        for i in range(count):
            start = sheet.margin[axis] + i * sheet.pitch[axis]
            for line in (start, start + side / 2, start + side):
                assert abs(place - line) > 3.5
    assert trouble_on_page(drawn_texts(calibration_page(sheet).pdf)[0], sheet.page, 1) == []


@pytest.mark.parametrize(("make", "prefix"), [(part_labels, "P"), (lead_tags, "L")])
def test_codes_of_parts_and_leads_grow_with_the_label(make, prefix):
    small, large = (
        max(text.size for text in drawn_texts(make(labels(prefix, 1), sheet).pdf)[0])
        for sheet in (TAG_SHEET, PARCEL_SHEET)
    )
    assert large > 1.8 * small


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=lambda sheet: sheet.name)
@pytest.mark.parametrize(
    ("make", "prefix"), [(kit_labels, "K"), (part_labels, "P"), (lead_tags, "L")]
)
def test_long_texts_neither_cover_each_other_nor_leave_their_label(make, prefix, sheet):
    long = LabelFacts(
        make_code(prefix, 1),
        "Electrode lead set with three leads",
        ("serial LS-0442-2026-000017-B", "active A red, active B blue, ground black"),
        SITE,
        "Ease at the Instrument, Tannenhof Music College",
    )
    printed = make([long] * 2, sheet)
    assert trouble_on_sheet(printed.pdf, sheet) == []


def label_picture(pdf: bytes, sheet: SheetLayout, dpi: int):
    """The last label of the first sheet, with the paper around it."""
    x, y = sheet.place(sheet.count - 1)
    edges = (x - 1, y - 1, x + sheet.label[0] + 1, y + sheet.label[1] + 1)
    return picture(pdf, dpi=dpi).crop(tuple(round(mm / 25.4 * dpi) for mm in edges))


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=lambda sheet: sheet.name)
@pytest.mark.parametrize(
    ("make", "prefix", "resolutions"),
    [(kit_labels, "K", (300, 150)), (part_labels, "P", (300,)), (lead_tags, "L", (300,))],
)
def test_a_code_photographed_askew_out_of_focus_and_noisy_reads_back(
    make, prefix, resolutions, sheet
):
    facts = labels(prefix, 1)
    pdf = make(facts, sheet, start=sheet.count).pdf
    for dpi in resolutions:
        assert codes_in(as_photographed(label_picture(pdf, sheet, dpi), dpi)) == links(facts), dpi
