"""Building the demo's house: practice, kit type, stock, kits, runs, students."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.contrib.auth.models import User

from kitdesk.demo import scenario
from rentals.actions.register import fit_part, register_kit, register_part
from rentals.actions.restock import restock, save_item
from rentals.actions.setup import save_kit_type, save_line, save_practice
from rentals.actions.transit import set_transit
from rentals.models import (
    ContentsLine,
    CourseRun,
    Enrolment,
    Kit,
    KitType,
    LeadSet,
    Part,
    Practice,
    StockItem,
    Student,
)
from rentals.selectors.plan_days import day_rules


def practice() -> None:
    """Who lends the kits."""
    row = Practice.current()
    for name, value in scenario.PRACTICE.items():
        setattr(row, name, value)
    save_practice(row)


def stock(owner: User, at: datetime, today: date) -> dict[str, StockItem]:
    """Counted stock as it was before the first run, by name; one batch has run out since, one is
    close to it.
    """
    items = {}
    for line in scenario.COUNTED_LINES:
        item = StockItem(
            name=line.name, kind=line.kind, by_batch=line.by_batch, reorder_point=line.reorder_at
        )
        item.shelf = line.shelf
        if line.name in scenario.BOUGHT:
            item.pack_size, pack_price, item.supplier = scenario.BOUGHT[line.name]
            item.pack_price = scenario.price(pack_price)
        items[line.name] = save_item(item, actor=owner, at=at)
        if line.in_stock:
            restock(item, line.in_stock, actor=owner, at=at)
    for name, number, pieces, days in scenario.BATCHES:
        expires = today + timedelta(days=days)
        restock(items[name], pieces, batch_number=number, expires_on=expires, actor=owner, at=at)
    return items


def kit_type(items: dict[str, StockItem]) -> KitType:
    """The contents list, in packing order."""
    kit_type_ = save_kit_type(
        KitType(name=scenario.KIT_TYPE, instructions=scenario.CARE, drain_ma=scenario.DRAIN_MA)
    )
    for kind, name, price, grams, bag in scenario.SERIAL_LINES:
        line = ContentsLine(
            kit_type=kit_type_,
            part_kind=kind,
            name=name,
            tracked_by="serial",
            mass_g=grams,
            inner_bag=bag,
        )
        line.replacement_price = scenario.price(price)
        line.origin = scenario.MADE_IN.get(kind, scenario.PRACTICE["country"])
        save_line(line)
    for counted in scenario.COUNTED_LINES:
        line = ContentsLine(
            kit_type=kit_type_,
            part_kind=counted.kind,
            name=counted.name,
            quantity=counted.quantity,
            stock_item=items[counted.name],
            comes_back=counted.comes_back,
            single_use=counted.single_use,
            cleaned_between_users=counted.cleaned,
            replacement_price=scenario.price(counted.price),
            mass_g=counted.grams,
            inner_bag=counted.bag,
            origin=scenario.MADE_IN.get(counted.kind, scenario.PRACTICE["country"]),
        )
        save_line(line)
    return kit_type_


def part(kind: str, number: int, owner: User, at: datetime) -> Part:
    """One bought part; serials are the practice's own marks."""
    marks = {
        "amplifier": "AM",
        "battery_pack": "BP",
        "charger": "CH",
        "lead_set": "LS",
        "licence_key": "LK",
    }
    bought = register_part(
        kind, f"{marks[kind]}-{number:04d}", actor=owner, at=at, bought_on=at.date()
    )
    if isinstance(bought, LeadSet):
        for lead in bought.leads.all():
            lead.colour = scenario.COLOURS[lead.role]
            lead.save(update_fields=["colour"])
    return bought


def kits(type_: KitType, count: int, owner: User, at: datetime) -> list[Kit]:
    """Complete kits, not yet tested, and three spares of each kind."""
    complete = []
    for number in range(1, count + 1):
        kit = register_kit(type_, actor=owner, at=at)
        for kind, *_ in scenario.SERIAL_LINES:
            fit_part(kit, part(kind, number, owner, at), actor=owner, at=at)
        complete.append(kit)
    for number in range(count + 1, count + 4):
        for kind, *_ in scenario.SERIAL_LINES:
            part(kind, number, owner, at)
    return complete


def run(
    type_: KitType,
    name: str,
    first: date,
    people: list[tuple[str, str, str, str, str]],
    *,
    works_out_days: bool = False,
) -> list[Enrolment]:
    """A course run of ten weeks with its students enrolled; its days are entered, or worked out for
    each student's country.
    """
    course_run = CourseRun(
        name=name,
        kit_type=type_,
        starts_on=first,
        ends_on=first + timedelta(days=70),
        post_by=first - timedelta(days=7),
        return_by=first + timedelta(days=77),
        deposit=scenario.price("80"),
    )
    if works_out_days:
        _work_out_days(course_run)
    course_run.save()
    enrolments = []
    for number, (name, street, city, postcode, country) in enumerate(people, 1):
        student = Student.objects.create(
            name=name,
            email=f"player{first:%m}{number:02d}@strings.example",
            street=street,
            city=city,
            postcode=postcode,
            country=country,
            language=scenario.READ_IN.get(country, ""),
        )
        enrolments.append(Enrolment.objects.create(run=course_run, student=student))
    return enrolments


def _work_out_days(course_run: CourseRun) -> None:
    set_transit("abroad", days_out=4, days_back=5)
    rules = day_rules()
    post, back = rules.post_by(course_run.starts_on), rules.back_by(course_run.ends_on)
    course_run.post_by, course_run.post_by_rule = post.day, post.rule
    course_run.return_by, course_run.return_by_rule = back.day, back.rule
