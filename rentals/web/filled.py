"""Rows of lists: drawn once for each way they can look, and filled with what differs from row to
row.

A long list draws the same few rows again and again: what makes them look otherwise is a state or
two. So a row's template is drawn once for each of its shapes, with holes for its texts; and a row
is that drawing with its texts put in. Only the drawings are kept, none of the texts, so nobody's
name stays behind.
"""

from __future__ import annotations

import re
from collections.abc import Hashable, Mapping
from functools import lru_cache
from html import escape
from typing import Any, NoReturn

from django.template.loader import render_to_string
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString

#: No text that is drawn holds these: Unicode leaves them to whoever wants them.
_BEGINS, _ENDS = "\ue0c1", "\ue0c2"
_PLACE = re.compile(f"{_BEGINS}(.*?){_ENDS}")


class _Hole(str):
    """Stands where a text will stand. It decides nothing: by what a row looks otherwise is its
    shape.
    """

    __slots__ = ()

    def __html__(self) -> str:
        return self

    def __bool__(self) -> NoReturn:
        raise TypeError("This text is put in later: say what it decides as part of the shape.")


def filled(template: str, texts: Mapping[str, Any], **shape: Hashable) -> SafeString:
    """A template with this shape and these texts.

    Parameters
    ----------
    template
        Its name. A text may stand in it only as it is (``{{ student }}``): with no filter, in no
        condition, in no argument of a tag.
    texts
        What differs from row to row, escaped here where it is not marked as safe.
    shape
        All that decides how the row looks. Two that are equal must look alike.

    Raises
    ------
    TypeError
        If the template asks whether there is a text.
    """
    first, *rest = _drawn(template, tuple(texts), tuple(shape.items()))
    put_in = [first]
    for name, after in rest:
        text = texts[name]
        kind = type(text)
        # Nearly all are plain texts or drawn; Django asks each whether it is a lazy one.
        if kind is str:
            text = escape(text)
        elif kind is not SafeString:
            text = conditional_escape(text)
        put_in += (text, after)
    return SafeString("".join(put_in))


@lru_cache(maxsize=1000)
def _drawn(template: str, names: tuple[str, ...], shape: tuple[tuple[str, Any], ...]) -> Any:
    """What stands before the first text; then of each place the name of its text, and what stands
    after it.
    """
    holes = {name: _Hole(f"{_BEGINS}{name}{_ENDS}") for name in names}
    first, *rest = _PLACE.split(render_to_string(template, {**holes, **dict(shape)}))
    return first, *zip(rest[::2], rest[1::2], strict=True)
