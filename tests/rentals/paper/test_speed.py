"""What makes a label dear is its code's matrix: it is made once, however often it is drawn. The
figures themselves are printed by ``manage.py speed``.
"""

import pytest

from rentals.codes import make_code
from rentals.paper import qr, speed
from rentals.paper.facts import LabelFacts
from rentals.paper.labels import kit_labels

SITE = "https://kits.ease.example"
pytestmark = pytest.mark.any_database


def test_each_codes_matrix_is_made_once(monkeypatch):
    labels = [
        LabelFacts(make_code("K", n), "Two-lead kit", ("serial 1",), SITE, "Ease")
        for n in range(1, 31)
    ]
    made = []
    usual = qr.matrix
    monkeypatch.setattr(qr, "matrix", lambda text: (made.append(text), usual(text))[1])
    qr.forget()
    kit_labels(labels)
    kit_labels(labels)
    assert len(made) == len(set(made)) == len(labels)


@pytest.mark.night
def test_the_figures_are_measured_and_the_memory_is_small():
    memory = speed.run_memory(25)
    assert 0 < memory.value < 200 * 20 / 295
    labels = speed.label_ratio(20, 1)
    # How long anything takes is the command's to say: a busy machine fails no test.
    assert labels.value > 0 and labels.met == (labels.value <= labels.goal)
