"""Parts of the bench's lists that are drawn once and kept as text. None of what is kept here names
a person or holds what people typed.
"""

from __future__ import annotations

from django import template
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from readiness.selectors.bench import BenchLine
from rentals.marks import Mark
from rentals.templatetags.kept_parts import kept
from rentals.web.filled import filled

register = template.Library()


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
