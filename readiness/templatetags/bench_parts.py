"""Parts of the bench's lists that are drawn once and kept as text. None of what is kept here names
a person or holds what people typed.
"""

from __future__ import annotations

from django import template
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from readiness.selectors.bench import BenchLine, DropLine
from rentals.counts import counted
from rentals.marks import Mark, Sign
from rentals.templatetags.desk import ago, kit_code, moment, state
from rentals.templatetags.kept_parts import kept
from rentals.web.filled import filled

register = template.Library()

#: Of a drop of many kits so many are named.
KITS_NAMED = 6


@register.simple_tag
def drop_line(line: DropLine) -> SafeString:
    """A drop by the kits it held."""
    upload, more = line.upload, len(line.kits) - KITS_NAMED
    texts = {
        "url": upload.get_absolute_url(),
        "kits": SafeString(" ".join(map(kit_code, line.kits[:KITS_NAMED]))),
        "more": str(more),
        "files": counted(line.files, "file", "files"),
        "moment": moment(upload.at),
        "ago": ago(upload.at),
        "by": upload.by.get_short_name() or upload.by.get_username() if upload.by else "",
        "state": state(Sign.WORKING, "being scored") if line.busy else "",
    }
    return filled(
        "readiness/_drop_line.html",
        texts,
        has_kits=bool(line.kits),
        has_more=more > 0,
        has_by=bool(upload.by),
    )


@register.simple_tag
def bench_line(line: BenchLine) -> SafeString:
    """A kit that waits for the bench."""
    code = line.kit.code
    texts = {
        "kit": bench_kit(code, line.mark),
        "why": line.why,
        "act": bench_act(code, line.act),
    }
    return filled("readiness/_bench_line.html", texts)


@kept
def bench_kit(code: str, mark: Mark | None) -> SafeString:
    """A kit that waits for the bench, with its mark, leading to its page there."""
    return render_to_string("readiness/_bench_kit.html", {"code": code, "mark": mark})


@kept
def bench_act(code: str, act: str) -> SafeString:
    """The button of such a kit: what is next with it."""
    return render_to_string("readiness/_bench_act.html", {"code": code, "act": act})
