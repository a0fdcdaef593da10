"""A desk on two machines, set up on one: two addresses of the loopback with a server, a worker and
a data folder each; the first has the clock besides. One PostgreSQL, one store of files, one proxy.
"""

from __future__ import annotations

import http.client
import json
from pathlib import Path

from page import PAGE, SITE, blocks_of
from processes import numbers_of_group, own_mb, processor_s_of_group
from scratch import Machine

FIRST, SECOND = "127.0.0.2", "127.0.0.3"
#: Units of each machine, by its address.
UNITS = {
    FIRST: ("kitdesk-web.service", "kitdesk-worker@1.service", "kitdesk-clock.service"),
    SECOND: ("kitdesk-web2.service", "kitdesk-worker2@1.service"),
}


def set_up(machine: Machine, store: dict[str, str], kits: int) -> None:
    """Follow the page up to the proxy, with a second machine beside the first; `store` is what both
    say of the store of files. Raises CalledProcessError and LookupError.
    """
    blocks = blocks_of(PAGE.read_text(encoding="utf-8"))
    root, port = machine.place.root, machine.place.desk_port
    for section in (1, 2):
        for block in blocks[section]:
            machine.run(block)
    settings, prepared = blocks[3]
    machine.run(settings)
    with (root / "etc/kitdesk/environment").open("a", encoding="utf-8") as stream:
        stream.writelines(f"{name}='{value}'\n" for name, value in store.items())
    machine.run(prepared)
    machine.run(f"kitdesk practice --kits {kits} --loans 3 --seed 1")
    files = root / "opt/kitdesk/first/kitdesk/deploy"
    one, both = f"server 127.0.0.1:{port}", f"server {FIRST}:{port} max_fails=2 fail_timeout=5s;\n"
    _replace(files / "kitdesk-web.socket", f"127.0.0.1:{port}", f"{FIRST}:{port}")
    _replace(files / "nginx.conf", one, f"{both}    server {SECOND}:{port}")
    for name in ("web.socket", "web.service", "worker@.service"):
        text = (files / f"kitdesk-{name}").read_text(encoding="utf-8")
        text = text.replace(FIRST, SECOND).replace("kitdesk-web.", "kitdesk-web2.")
        text = text.replace("kitdesk/environment", "kitdesk/environment2")
        stem, mark, ending = name.partition("@" if "@" in name else ".")
        (files / f"kitdesk-{stem}2{mark}{ending}").write_text(text, encoding="utf-8")
    # As section 11 has it: folders of its own, the same keys, no backups.
    machine.run(
        """
        sed -e 's#/var/lib/kitdesk/desk#/var/lib/kitdesk/desk2#' \\
            -e 's#^KITDESK_BACKUPS=.*#KITDESK_BACKUPS=off#' /etc/kitdesk/environment \\
            > /etc/kitdesk/environment2
        sed 's#kitdesk/environment#kitdesk/environment2#' /usr/local/bin/kitdesk \\
            > /usr/local/bin/kitdesk2
        chmod 755 /usr/local/bin/kitdesk2
        install -d -m 700 -o kitdesk -g kitdesk /var/lib/kitdesk/desk2
        kitdesk2 prepare
        """
    )
    for section in (4, 5):
        for block in blocks[section]:
            machine.run(block)
    machine.run("systemctl start kitdesk-web2.socket kitdesk-web2 kitdesk-worker2@1")


def health(machine: Machine, host: str) -> dict[str, object]:
    """What a machine itself says of its health, past the proxy."""
    line = http.client.HTTPConnection(host, machine.place.desk_port, timeout=10)
    line.request("GET", "/health", headers={"Host": SITE})
    facts = json.loads(line.getresponse().read())
    line.close()
    return dict(facts)


def lose(machine: Machine, host: str) -> None:
    """The machine is switched off: all that runs there is killed."""
    for name in UNITS[host]:
        machine.units.lose(name)


def processor_s(machine: Machine, unit: str) -> float:
    """Processor time of a unit's living processes so far, in seconds; 0 where it does not run."""
    leader = machine.units.number_of(unit)
    return 0.0 if leader is None else processor_s_of_group(leader)


def own_memory_mb(machine: Machine, unit: str) -> list[float]:
    """What each process of a unit shares with no other."""
    leader = machine.units.number_of(unit)
    return [] if leader is None else [own_mb(number) for number in numbers_of_group(leader)]


def _replace(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    if old not in text:
        raise LookupError(f"{file} does not say {old}")
    file.write_text(text.replace(old, new), encoding="utf-8")
