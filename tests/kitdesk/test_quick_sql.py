"""What is kept of queries: each is put into the words that Django itself finds for it."""

from __future__ import annotations

import gc
import weakref
from decimal import Decimal

import pytest
from django.apps import apps
from django.apps.registry import Apps
from django.contrib.auth.models import User
from django.db import connections, models
from django.db.models import Count, Exists, F, OuterRef, Value
from django.db.models.sql import compiler

from kitdesk import quick_sql
from rentals.models import Enrolment, Event, Kit, Loan, PackingLine, Part
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db


class ProxyUser(User):
    class Meta:
        proxy = True
        app_label = "auth"


def _compiler(kind, asked):
    return kind(asked.query.clone(), connections["default"], "default")


def _told(made):
    """All that comes of putting a query into words."""
    words = made.as_sql()
    read = made.get_converters([column for column, _, _ in made.select[: made.col_count]])
    return (
        words,
        made.annotation_col_map,
        made.klass_info and (made.klass_info["model"], made.klass_info["select_fields"]),
        [(str(column), sql, alias) for column, sql, alias in made.select],
        {
            place: [convert.__qualname__ for convert in converts]
            for place, (converts, _) in read.items()
        },
    )


KITS = Kit.objects.all
LESS_PLAIN = {
    "with what belongs to it": lambda: Loan.objects.select_related("kit", "enrolment__student"),
    "ordered by what belongs to it": lambda: Loan.objects.order_by("-kit__code", "pk"),
    "ordered by nothing": lambda: KITS().order_by(),
    "turned round": lambda: Loan.objects.order_by("kit", "-pk").reverse(),
    "ordered by an expression": lambda: KITS().order_by(F("code").desc(), "pk"),
    "some of its columns": lambda: KITS().only("code", "state"),
    "without some of them": lambda: Event.objects.defer("data", "text"),
    "plain columns": lambda: KITS().order_by("code").values_list("pk", "code"),
    "named ones that order": lambda: KITS().order_by("-code").values("code", many=Count("loans")),
    "with another one": lambda: KITS().annotate(many=Count("loans")).order_by("-many", "code"),
    "an alias that has a field's name": lambda: (
        KITS().alias(first=Value(1)).annotate(second=F("code")).order_by("first", "second")
    ),
    "each once": lambda: Loan.objects.order_by("kit__code").distinct(),
    "inside another": lambda: KITS().filter(
        Exists(Loan.objects.filter(kit=OuterRef("pk")).order_by("-pk"))
    ),
    "two in one": lambda: (
        Part.objects.filter(kit=1).union(Part.objects.filter(kit=2), all=True).order_by("code")
    ),
    "two in one, of plain columns": lambda: (
        Loan.objects.values_list("pk").union(Kit.objects.values_list("pk")).order_by("pk")
    ),
    "cut": lambda: PackingLine.objects.order_by("order", "pk")[3:9],
    "locked": lambda: KITS().select_for_update(of=("self",)).filter(pk=1),
    "a stand-in of a model": lambda: ProxyUser.objects.order_by("username"),
    "extra ones": lambda: KITS().extra(select={"one": "1"}, order_by=["-one"]),
    "of what has no table": lambda: Enrolment.objects.none(),
}


@pytest.mark.parametrize("name", LESS_PLAIN)
def test_a_query_has_the_words_of_django(name):
    for _ in range(2):  # the second time from what is kept
        asked = LESS_PLAIN[name]()
        try:
            expected = _told(_compiler(compiler.SQLCompiler, asked))
        except Exception as refused:
            with pytest.raises(type(refused)):
                _told(_compiler(quick_sql.SQLCompiler, asked))
        else:
            assert _told(_compiler(quick_sql.SQLCompiler, asked)) == expected


@pytest.mark.parametrize("model", apps.get_models(), ids=lambda model: model._meta.label)
def test_whole_rows_of_each_table_have_the_words_of_django(model):
    manager = model._base_manager
    for asked in (manager.all(), manager.order_by("pk"), manager.filter(pk=1).order_by("-pk")):
        expected = _told(_compiler(compiler.SQLCompiler, asked))
        for _ in range(2):
            assert _told(_compiler(quick_sql.SQLCompiler, asked)) == expected


def test_queries_are_put_into_words_here_and_what_is_kept_stays_as_it_is():
    asked = Kit.objects.filter(pk=1)
    assert isinstance(asked.query.get_compiler("default"), quick_sql.SQLCompiler)
    made = _compiler(quick_sql.SQLCompiler, asked)
    made.as_sql()
    made.select.clear()
    made.klass_info["select_fields"].clear()
    again = _compiler(quick_sql.SQLCompiler, asked)
    again.as_sql()
    fields = len(Kit._meta.concrete_fields)
    assert len(again.select) == len(again.klass_info["select_fields"]) == fields


def test_a_model_made_in_passing_is_not_kept():
    def asked() -> weakref.ref[type[models.Model]]:
        own = Apps()
        meta = type("Meta", (), {"app_label": "passing", "apps": own})
        passing = type("Passing", (models.Model,), {"__module__": __name__, "Meta": meta})
        _compiler(quick_sql.SQLCompiler, passing._base_manager.all()).as_sql()
        return weakref.ref(passing)

    made = asked()
    gc.collect()
    assert made() is None


def test_values_are_read_as_ever():
    kit = complete_kit()
    for _ in range(2):
        found = Kit.objects.get(pk=kit.pk)
        assert found.cleared is True and found.cleared_at.tzinfo is not None
        event = Event.objects.filter(kit=kit).order_by("pk").first()
        assert isinstance(event.data, dict)
        line = kit.kit_type.lines.first()
        assert type(line.replacement_price) is Decimal
