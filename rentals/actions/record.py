"""Recording events: append to a chain, and move the kit along by the table of its life."""

from __future__ import annotations

import hashlib
import secrets
from datetime import UTC, datetime
from typing import Any, NamedTuple, NoReturn

from django.contrib.auth.models import User
from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import OPEN_STAGES, AccessToken, Event, Kit, Loan, Part, StockItem, Webhook
from rentals.packed import packer, quoted
from rentals.states import KitState

from .kit_step import take_step
from .tell_webhooks import tell_of_events

Actor = User | None
#: What an event says beside its words, as its hash covers it.
packed_data = packer()


def words_hash(salt: str, text: str) -> str:
    """SHA-256 of an event's words and their salt, as hexadecimal text."""
    return hashlib.sha256(f"{salt}|{text}".encode()).hexdigest()


class EventFacts(NamedTuple):
    """What an event's hash covers beside its chain's last one; of its words, their own hash. `at`
    may be text already, as `moment_text` writes it.
    """

    chain: str
    number: int
    at: datetime | str
    verb: str
    words: str
    data: dict[str, Any]
    actor: str
    kit: int | None
    loan: int | None
    part: int | None
    previous: str

    @property
    def hash(self) -> str:
        """SHA-256 over all of it, as hexadecimal text."""
        at = self.at if isinstance(self.at, str) else moment_text(self.at)
        line = event_line(
            quoted(self.actor),
            at,
            quoted(self.chain),
            "{}" if self.data == {} else packed_data(self.data),
            self.kit,
            self.loan,
            self.number,
            self.part,
            quoted(self.previous),
            quoted(str(self.verb)),
            quoted(self.words),
        )
        return hashlib.sha256(line.encode()).hexdigest()


def event_line(
    actor: str,
    at: str,
    chain: str,
    data: str,
    kit: int | None,
    loan: int | None,
    number: int,
    part: int | None,
    previous: str,
    verb: str,
    words: str,
) -> str:
    """What an event's hash is over: JSON by the names in their order, as `packed` writes it, and
    several times as fast. Texts come in quotes (`quoted`), `at` without them.
    """
    return (
        f'{{"actor":{actor},"at":"{at}","chain":{chain},"data":{data},'
        f'"kit":{"null" if kit is None else kit},"loan":{"null" if loan is None else loan},'
        f'"number":{number},"part":{"null" if part is None else part},'
        f'"previous":{previous},"verb":{verb},"words":{words}}}'
    )


def moment_text(moment: datetime) -> str:
    """A moment in UTC to the microsecond."""
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def event_hash(event: Event) -> str:
    """SHA-256 over all that an event says and the hash before it, as hexadecimal text. Its words
    count by their own hash, so that they can go and the chain still holds.
    """
    return EventFacts(
        chain=event.chain,
        number=event.number,
        at=event.at,
        verb=event.verb,
        words=event.words_hash,
        data=event.data,
        actor=event.actor_name,
        kit=event.kit_id,
        loan=event.loan_id,
        part=event.part_id,
        previous=event.previous_hash,
    ).hash


def actor_name(actor: Actor) -> str:
    """Name that an event keeps even when the account is gone."""
    return "" if actor is None else str(actor.get_username())


def built_event(
    chain: str, number: int, previous: str, verb: Verb, text: str, **facts: Any
) -> Event:
    """The next event of a chain with its hash, not saved yet."""
    actor = facts.pop("actor", None)
    salt = secrets.token_hex(16)
    event = Event(
        chain=chain,
        number=number,
        at=facts.pop("at", None) or timezone.now(),
        verb=verb.value,
        text=text,
        words_salt=salt,
        words_hash=words_hash(salt, text),
        actor=actor,
        actor_name=actor_name(actor),
        previous_hash=previous,
        **facts,
    )
    event.hash = event_hash(event)
    return event


def _append(chain: str, number: int, previous: str, verb: Verb, text: str, **facts: Any) -> Event:
    event = built_event(chain, number, previous, verb, text, **facts)
    with transaction.in_this_act():
        event.save(force_insert=True)
    return event


def lock_kit(code_or_pk: str | int | Kit) -> Kit:
    """The kit, locked until the transaction ends. Call inside `transaction.atomic()` only.

    Raises
    ------
    Refused
        If there is no such kit.
    """
    pk = code_or_pk.pk if isinstance(code_or_pk, Kit) else code_or_pk
    kits = Kit.objects.select_for_update(of=("self",)).select_related("kit_type")
    kit = kits.filter(code=pk).first() if isinstance(pk, str) else kits.filter(pk=pk).first()
    return kit or no_such_kit(pk)


def no_such_kit(code_or_pk: str | int) -> NoReturn:
    """Refuse a kit that is not there (any more)."""
    raise Refused(f"There is no kit {code_or_pk}. Check the code on its label.", field="kit")


def lock_open_loan(kit: Kit) -> Loan:
    """The open loan of a locked kit with its people, locked too; Refused where there is none."""
    loans = Loan.objects.select_for_update(of=("self",), no_key=True)
    loans = loans.select_related("enrolment__student", "enrolment__run")
    loan = loans.filter(kit=kit, stage__in=OPEN_STAGES).first()
    if loan is None:
        raise Refused(
            f"Kit {kit.code} is {state_word(kit)} and not assigned to anybody: assign it to a"
            " student first."
        )
    loan.kit = kit
    return loan


def record_kit(
    kit: Kit,
    verb: Verb,
    text: str,
    *,
    actor: Actor = None,
    loan: Loan | None = None,
    part: Part | None = None,
    data: dict[str, Any] | None = None,
    at: datetime | None = None,
) -> Event:
    """Append an event to a locked kit's chain and move the kit as the life table says.

    The caller has set whatever else changes on `kit` (reasons, dates); all is saved here in one
    write.

    Raises
    ------
    Refused
        If the act may not happen in the kit's state.
    """
    event = next_event(kit, verb, text, actor=actor, loan=loan, part=part, data=data or {}, at=at)
    with transaction.in_this_act():
        event.save(force_insert=True)
    kit.save()
    tell_of_events([event])
    return event


def next_event(kit: Kit, verb: Verb, text: str, **facts: Any) -> Event:
    """The next event of a locked kit, which moves along in memory; neither is saved.

    Raises
    ------
    Refused
        If the act may not happen in the kit's state.
    """
    take_step(kit, verb)
    number = kit.event_count + 1
    event = built_event(kit.code, number, kit.last_hash, verb, text, kit=kit, **facts)
    kit.event_count, kit.last_hash = number, event.hash
    return event


def record_part(
    part: Part, verb: Verb, text: str, *, actor: Actor = None, at: datetime | None = None
) -> Event:
    """Append an event to a part's own chain (what happens to it outside of any kit)."""
    return _record_chain(part.code, verb, text, actor=actor, part=part, at=at)


def record_stock(
    item: StockItem, text: str, *, actor: Actor = None, at: datetime | None = None, **data: Any
) -> Event:
    """Append an event to a stock item's chain."""
    return _record_chain(f"stock {item.pk}", Verb.STOCK, text, actor=actor, data=data, at=at)


def record_erasure(
    student: int, text: str, *, actor: Actor = None, at: datetime | None = None, **data: Any
) -> Event:
    """Append an event to the chain of a student, by number: whoever was erased has no name."""
    chain = f"student {student}"
    return _record_chain(chain, Verb.ERASED, text, actor=actor, data=data, at=at)


def record_roles(account: int, roles: list[str], text: str, *, actor: Actor = None) -> Event:
    """Append to the chain of an account, whose row the caller has locked, what it may do now."""
    data = {"account": account, "roles": [str(role) for role in roles]}
    return _record_chain(f"account {account}", Verb.NOTED, text, actor=actor, data=data)


def record_token(
    token: AccessToken, text: str, *, actor: Actor = None, at: datetime | None = None
) -> Event:
    """Append to the chain of an access token, whose row the caller has made or locked, what it may
    do and until when.
    """
    chain = f"token {token.pk}"
    return _record_chain(chain, Verb.NOTED, text, actor=actor, data=token.facts, at=at)


def record_webhook(
    hook: Webhook, text: str, *, actor: Actor = None, at: datetime | None = None
) -> Event:
    """Append to the chain of a webhook, whose row the caller has made or locked."""
    return _record_chain(f"webhook {hook.pk}", Verb.NOTED, text, actor=actor, at=at)


def record_limits(
    kit_type: int,
    limits: dict[str, Any],
    text: str,
    *,
    actor: Actor = None,
    at: datetime | None = None,
) -> Event:
    """Append to the chain of a kit type's test plan, whose row the caller has locked, what kits are
    judged by now.
    """
    data = {"kit_type": kit_type, "limits": limits}
    return _record_chain(f"plan {kit_type}", Verb.NOTED, text, actor=actor, data=data, at=at)


def _record_chain(chain: str, verb: Verb, text: str, **facts: Any) -> Event:
    # The caller holds the row lock of the part, item or student: two writers never take one
    # number.
    chained = Event.objects.filter(chain=chain).order_by("-number")
    number, previous = chained.values_list("number", "hash").first() or (0, "")
    return _append(chain, number + 1, previous, verb, text, **facts)


def state_word(kit: Kit) -> str:
    """The kit's state as one word for a sentence."""
    return KitState(kit.state).label
