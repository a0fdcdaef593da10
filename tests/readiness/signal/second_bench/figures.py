"""What a cohort of the second bench comes to: shares with their exact intervals."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable

from scipy.stats import beta

from readiness.signal.statistics.decision import FIT, NOT_FIT, RETEST

from .ailments import KIT_AILMENTS, LEAD_AILMENTS, NEVER_PASSED, TROUBLES
from .judging import HUM_UV, PLAN, KitSeen

SILENT = ("dead_channel", "saturated", "stuck_bits")
LEAD_BELONGS = ("open", "intermittent")
GROUND_GAP = "intermittent ground"
HIDES = ("resistive", "leaking")
SURE_LEAKAGE_OHM = 3e4
"""A leak below this, seen as a short or not, is in the tables; above it a lifted lead reacts."""


def exact(hits: int, total: int) -> str:
    """Share with its Clopper-Pearson interval of 95 %, in percent."""
    if not total:
        return "-"
    low = beta.ppf(0.025, hits, total - hits + 1) if hits else 0.0
    high = beta.ppf(0.975, hits + 1, total - hits) if hits < total else 1.0
    return f"{100 * hits / total:5.1f} % ({100 * low:.1f} to {100 * high:.1f}; {hits} of {total})"


def share(kits: Iterable[KitSeen], asked: Callable[[KitSeen], bool]) -> str:
    """How many of the kits are so."""
    flags = [asked(kit) for kit in kits]
    return exact(sum(flags), len(flags))


def passed(kit: KitSeen) -> bool:
    """Whether the kit may go out."""
    return kit.verdict == FIT


def never_passed(kits: Iterable[KitSeen]) -> list[KitSeen]:
    """Kits with a fault that must never pass, an intermittent ground apart, and that did."""
    return [
        kit
        for kit in kits
        if kit.ailment
        and kit.ailment.kind in NEVER_PASSED
        and kit.label != GROUND_GAP
        and passed(kit)
    ]


def rows(kits: list[KitSeen]) -> list[tuple[str, str]]:
    """The figures that have goals: name and share."""
    faulty = [kit for kit in kits if kit.ailment and kit.ailment.kind in KIT_AILMENTS]
    counted = [kit for kit in faulty if kit.label != GROUND_GAP and not _beyond_lift(kit)]
    sound = [kit for kit in kits if kit.label == "sound"]
    loud = [kit for kit in kits if kit.trouble == "loud"]
    in_hum = [kit for kit in kits if HUM_UV[0] < kit.hum_uv < HUM_UV[1]]
    blamed = [
        kit
        for kit in faulty
        if kit.ailment and kit.ailment.kind in LEAD_BELONGS and kit.verdict == NOT_FIT
    ]
    return [
        ("kit fault passed, intermittent ground apart", share(counted, passed)),
        *_passed_rows(counted),
        ("never passed", exact(len(never_passed(kits)), len(_never(kits)))),
        ("sound kit called not fit", share(sound, lambda kit: kit.verdict == NOT_FIT)),
        ("sound kit retest, unproven ground apart", share(sound, _sent_back)),
        (
            "sound kit, only its ground unproven",
            share(sound, lambda kit: kit.verdict == RETEST and kit.only_ground_unproven),
        ),
        ("sound kit retest for any reason", share(sound, lambda kit: kit.verdict == RETEST)),
        ("strong hum called a fault", share(loud, lambda kit: kit.verdict == NOT_FIT)),
        ("lead named rightly, and alone", share(blamed, lambda kit: kit.named == {_lead(kit)})),
        ("another lead named beside the right one", share(blamed, _one_too_many)),
        ("another lead named instead", share(blamed, _wrong_lead)),
        *_open_rows(kits),
        ("noise interval covers", share(_with_noise(sound), _covers)),
        ("noise interval covers in hum of 30 to 200 uV", share(_with_noise(in_hum), _covers)),
    ]


def _passed_rows(counted: list[KitSeen]) -> list[tuple[str, str]]:
    """Those passed with a weak strand or a leak, and with any other fault."""
    hidden = [kit for kit in counted if kit.ailment and kit.ailment.kind in HIDES]
    others = [kit for kit in counted if kit not in hidden]
    return [
        ("... a weak strand or a leak", share(hidden, passed)),
        ("... any other", share(others, passed)),
    ]


def _open_rows(kits: list[KitSeen]) -> list[tuple[str, str]]:
    active = [kit for kit in kits if kit.label in ("open A", "open B")]
    ground = [kit for kit in kits if kit.label == "open ground"]
    return [
        ("open A or B: named rightly", share(active, lambda kit: kit.named == {_lead(kit)})),
        ("open A or B: another named", share(active, lambda kit: bool(kit.named - {_lead(kit)}))),
        ("open A or B: dead or the like", share(active, _called_silent)),
        ("open A or B: retest", share(active, lambda kit: kit.verdict == RETEST)),
        ("open A or B: passed", share(active, passed)),
        ("open ground: named", share(ground, lambda kit: kit.named == {"ground"})),
        ("open ground: another named", share(ground, lambda kit: bool(kit.named - {"ground"}))),
        ("open ground: retest", share(ground, lambda kit: kit.verdict == RETEST)),
        ("open ground: passed", share(ground, passed)),
    ]


def case_rows(kits: list[KitSeen]) -> list[tuple[str, str]]:
    """For each case: how many fit, retest and not fit, and the codes that spoke most."""
    cases: dict[str, list[KitSeen]] = {}
    for kit in kits:
        cases.setdefault(kit.label, []).append(kit)
    found = []
    for label in sorted(cases, key=lambda name: (name != "sound", name in TROUBLES, name)):
        some = cases[label]
        verdicts = Counter(kit.verdict for kit in some)
        codes = Counter(code for kit in some for code in {code for code, _, _ in kit.against})
        spoken = ", ".join(f"{code} {count}" for code, count in codes.most_common(4))
        counts = "/".join(str(verdicts[verdict]) for verdict in (FIT, RETEST, NOT_FIT))
        found.append((label, f"{counts:>12}  {spoken}"))
    return found


def table(kits: list[KitSeen], plan: tuple[str, ...] = PLAN) -> str:
    """Both tables as text."""
    lines = [f"{len(kits)} kits on {' + '.join(plan)}", ""]
    lines += [f"{name:<48} {value}" for name, value in rows(kits)]
    lines += ["", f"{'case':<24} fit/retest/not fit  codes"]
    lines += [f"{name:<24} {value}" for name, value in case_rows(kits)]
    return "\n".join(lines)


def _never(kits: Iterable[KitSeen]) -> list[KitSeen]:
    return [
        kit
        for kit in kits
        if kit.ailment and kit.ailment.kind in NEVER_PASSED and kit.label != GROUND_GAP
    ]


def _beyond_lift(kit: KitSeen) -> bool:
    """A leak that a lift cannot show, and a ground strand whose kiloohms hide as its opens do."""
    ailment = kit.ailment
    if ailment is None:
        return False
    weak = ailment.kind == "leaking" and ailment.size > SURE_LEAKAGE_OHM
    return weak or kit.label == "resistive ground"


def _lead(kit: KitSeen) -> str:
    assert kit.ailment and kit.ailment.kind in LEAD_AILMENTS
    return kit.ailment.lead


def _one_too_many(kit: KitSeen) -> bool:
    return _lead(kit) in kit.named and len(kit.named) > 1


def _wrong_lead(kit: KitSeen) -> bool:
    return bool(kit.named) and _lead(kit) not in kit.named


def _called_silent(kit: KitSeen) -> bool:
    return any(code in SILENT and verdict == NOT_FIT for code, _, verdict in kit.against)


def _sent_back(kit: KitSeen) -> bool:
    return kit.verdict == RETEST and not kit.only_ground_unproven


def _with_noise(kits: Iterable[KitSeen]) -> list[KitSeen]:
    return [kit for kit in kits if kit.noise and (not kit.ailment)]


def _covers(kit: KitSeen) -> bool:
    assert kit.noise
    low, high, truth = kit.noise
    return low <= truth <= high
