"""What the tests of the packing bench do again and again."""

import uuid

from django.test import Client
from django.urls import reverse

from rentals.models import Kit, Loan


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def at(kit: Kit, name: str = "pack_kit") -> str:
    return reverse(f"rentals:{name}", args=[kit.code])


def do(client: Client, kit: Kit, name: str, htmx: bool = False, **data: object):
    headers = {"HX-Request": "true"} if htmx else {}
    data.setdefault("form_key", str(uuid.uuid4()))
    return client.post(at(kit, name), data, follow=True, headers=headers)


def tick_all(client: Client, loan: Loan) -> None:
    client.get(at(loan.kit))
    for line in loan.packing_lines.all():
        do(client, loan.kit, "pack_tick", tick=line.pk)
