from rentals.paper.flow import Block, paginate
from rentals.paper.ink import Ink


def nothing(ink: Ink, y: float) -> None:
    """Blocks are only counted here."""


def test_blocks_fill_a_page_and_go_on_the_next():
    blocks = [Block(10, nothing) for _ in range(7)]
    assert [len(page) for page in paginate(blocks, 30, 20)] == [3, 2, 2]


def test_a_heading_goes_with_what_follows_it():
    head = Block(10, nothing, keep_with_next=True)
    pages = paginate([Block(15, nothing), head, Block(10, nothing)], 30, 30)
    assert [len(page) for page in pages] == [1, 2]
    assert pages[1][0] is head


def test_a_heading_is_repeated_where_its_blocks_begin_a_page_and_takes_its_room():
    again = Block(5, nothing)
    blocks = [Block(10, nothing, under=(again,)) for _ in range(5)]
    pages = paginate(blocks, 20, 25)
    assert [len(page) for page in pages] == [2, 3, 2]
    assert all(page[0] is again for page in pages[1:])


def test_a_block_higher_than_a_page_has_one_of_its_own():
    assert [
        len(page)
        for page in paginate([Block(5, nothing), Block(99, nothing), Block(5, nothing)], 30, 30)
    ] == [
        1,
        1,
        1,
    ]
