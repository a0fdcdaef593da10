"""The judges of the bench tests: each takes a view of a capture and says what it shows.

``view.View`` is what a judge looks at, ``view.Judgement`` what it answers; ``findings`` is the
table of all that can be found. Which tests there are stands in ``readiness.signal.catalogue``.
"""
