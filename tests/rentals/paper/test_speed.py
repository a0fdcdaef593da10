import time
from collections.abc import Callable

from rentals.codes import code_link, make_code
from rentals.paper import qr
from rentals.paper.facts import LabelFacts
from rentals.paper.labels import kit_labels

SITE = "https://kits.ease.example"


def test_labels_cost_little_more_than_their_qr_matrices():
    labels = [
        LabelFacts(make_code("K", n), "Two-lead kit", ("serial 1",), SITE, "Ease")
        for n in range(1, 151)
    ]
    kit_labels(labels[:1])  # fonts are loaded once and kept
    alone = best(lambda: [qr.matrix(code_link(SITE, label.code)) for label in labels])
    whole = best(lambda: (qr.forget(), kit_labels(labels)))
    assert whole < 1.5 * alone


def best(work: Callable[[], object], times: int = 3) -> float:
    """Shortest processor time of a few goes, seconds."""
    spent = []
    for _ in range(times):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return min(spent)
