"""What a book remembers of what was worked out from it alone."""

from builders import PORT, a_book, a_part

from quoter.engine.memory import SHELF_LIMIT, remembered


def test_a_rule_is_worked_out_once_for_each_key():
    """And for each book: what one has worked out, another does not know."""
    asked = []

    @remembered
    def doubled(book: object, number: int) -> int:
        asked.append(number)
        return 2 * number

    one, two = a_book(), a_book(parts=[a_part("B1"), PORT])
    assert [doubled(one, 2), doubled(one, 2), doubled(one, 3), doubled(two, 2)] == [4, 4, 6, 4]
    assert asked == [2, 3, 2]


def test_a_full_shelf_is_emptied_and_fills_again():
    """Forgetting changes nothing but time."""

    @remembered
    def same(book: object, number: int) -> int:
        return number

    book = a_book()
    assert all(same(book, number) == number for number in range(SHELF_LIMIT + 2))
    (shelf,) = book.memory.shelves.values()
    assert set(shelf) == {(SHELF_LIMIT,), (SHELF_LIMIT + 1,)}
