"""Events count their words by a salted hash, so that a person's words can go. Every chain is
written anew; what did not fit before does not fit after.
"""

import hashlib
import json
import secrets
from datetime import UTC

from django.db import migrations, models


def _hash(facts):
    packed = json.dumps(facts, sort_keys=True, separators=(",", ":")).encode()
    return hashlib.sha256(packed).hexdigest()


def _facts(event):
    return {
        "chain": event.chain,
        "number": event.number,
        "at": event.at.astimezone(UTC).isoformat(timespec="microseconds"),
        "verb": event.verb,
        "text": event.text,
        "data": event.data,
        "actor": event.actor_name,
        "kit": event.kit_id,
        "loan": event.loan_id,
        "part": event.part_id,
        "previous": event.previous_hash,
    }


def write_anew(apps, schema_editor):
    Event = apps.get_model("rentals", "Event")
    Kit = apps.get_model("rentals", "Kit")
    last = {}
    chains = Event.objects.order_by("chain").values_list("chain", flat=True).distinct()
    for chain in list(chains):
        links = list(Event.objects.filter(chain=chain).order_by("number"))
        last[chain] = _chained_anew(links)
        fields = ["words_salt", "words_hash", "previous_hash", "hash"]
        Event.objects.bulk_update(links, fields, batch_size=200)
    for kit in Kit.objects.iterator(chunk_size=2000):
        old, new = last.get(kit.code, ("", ""))
        if kit.last_hash == old != new:
            Kit.objects.filter(pk=kit.pk).update(last_hash=new)


def _chained_anew(links):
    """Gives the links their new hashes; returns the old and the new one of the last."""
    old, new = "", ""
    for event in links:
        facts, was = _facts(event), event.hash
        held = _hash(facts) == was
        if event.previous_hash == old:
            event.previous_hash = new
        event.words_salt = secrets.token_hex(16)
        salted = f"{event.words_salt}|{event.text}".encode()
        event.words_hash = hashlib.sha256(salted).hexdigest()
        if held:
            del facts["text"]
            facts |= {"words": event.words_hash, "previous": event.previous_hash}
            event.hash = _hash(facts)
        old, new = was, event.hash
    return old, new


class Migration(migrations.Migration):

    dependencies = [
        ('rentals', '0025_cells_of_a_loan'),
    ]

    operations = [
        migrations.AddField(
            model_name='event',
            name='words_hash',
            field=models.CharField(default='', help_text='SHA-256 of the salt and the words as they were written.', max_length=64),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name='event',
            name='words_salt',
            field=models.CharField(blank=True, default='', help_text='Empty once its words were erased.', max_length=32),
            preserve_default=False,
        ),
        migrations.AlterField(
            model_name='event',
            name='verb',
            field=models.CharField(choices=[('registered', 'registered'), ('assigned', 'assigned'), ('unassigned', 'unassigned'), ('overridden', 'overridden'), ('packed', 'packed'), ('unpacked', 'unpacked'), ('dispatched', 'dispatched'), ('recalled', 'recalled'), ('arrived', 'arrived'), ('checked', 'checked'), ('cleared', 'cleared'), ('uncleared', 'uncleared'), ('fitted', 'fitted'), ('removed', 'removed'), ('held', 'held'), ('released', 'released'), ('lost', 'lost'), ('retired', 'retired'), ('set_aside', 'set aside'), ('let_go', 'let go'), ('noted', 'noted'), ('shortfall', 'shortfall'), ('settled', 'settled'), ('stock', 'stock'), ('erased', 'erased')], max_length=12),
        ),
        migrations.RunPython(write_anew),
    ]
