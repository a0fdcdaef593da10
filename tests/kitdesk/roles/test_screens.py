"""What a page shows to somebody who may not use all of it."""

import pytest

from kitdesk.roles.screens import shown_to

pytestmark = pytest.mark.any_database


def _lets(address: str, *, posting: bool) -> bool:
    """Pages under /open/ may be opened, those under /open/acts/ posted to."""
    return address.startswith("/open/acts/" if posting else "/open/")


@pytest.mark.parametrize(
    ("page", "shown"),
    [
        ('<a class="do" href="/shut/">Act</a>.', "."),
        ('See <a href="/shut/">Ada</a>.', "See Ada."),
        ('<li><a href="/shut/"><b>All</b> Adas</a></li><li>Bea</li>', "<li>Bea</li>"),
        ('<a class="code" href="/shut/"><b>K</b></a>', '<span class="code"><b>K</b></span>'),
        ('<a href="/open/?a=1&amp;b=2">On</a>', '<a href="/open/?a=1&amp;b=2">On</a>'),
        (
            '<a href="?page=2">On</a><a href="#top">Up</a>',
            '<a href="?page=2">On</a><a href="#top">Up</a>',
        ),
        ('<form method="get"><p>x</p></form>', '<form method="get"><p>x</p></form>'),
        ('<form method="post"><button>Go</button></form>.', "."),
        (
            '<form method="post" action="/open/acts/"><input></form>',
            '<form method="post" action="/open/acts/"><input></form>',
        ),
        (
            '<button form="f">Go</button><form method="post" id="f" action="/shut/">x</form>'
            '<input form="f"><input form="g">',
            '<input form="g">',
        ),
        ('<button formaction="/shut/">Go</button><button>On</button>', "<button>On</button>"),
        ('<input type="checkbox" hx-post="/shut/">.', "."),
        ('<div id="panel" hx-get="/shut/" hx-trigger="load"><p>wait</p></div>.', "."),
        (
            '<ul><li><a class="do" href="/shut/">Act</a></li><li>Fact</li></ul>',
            "<ul><li>Fact</li></ul>",
        ),
        (
            '<section aria-labelledby="a"><h2 id="a">Act</h2>'
            '<form method="post" action="/shut/">x</form></section>.',
            ".",
        ),
        (
            '<section><h2>Fact</h2><p>x</p></section><a class="act" href="/shut/">A</a>',
            "<section><h2>Fact</h2><p>x</p></section>",
        ),
        ('<a data-x="a > b" class="act" href="/shut/">A</a>.', "."),
    ],
)
def test_what_leads_to_a_refusal_is_not_shown(page, shown):
    assert shown_to(page, "/open/", _lets) == shown


def test_a_page_whose_reader_may_all_of_it_stays_as_it_is():
    page = '<ul><li></li></ul><form method="post"><p></p></form><a class="do" href="/shut/">A</a>'
    assert shown_to(page, "/x/", lambda address, posting: True) == page
