"""What stands in the way of publishing names constants as the page does, not as the file does."""

from orders.templatetags.trade import by_the_book


def test_a_constant_is_named_as_the_book_names_it():
    said = by_the_book("anchored end: control_inset_mm 5 + anchored_tube_split_mm 25 is 14.5 mm less than the 47.5 mm")
    assert (
        said == "anchored end: <b>Control inset</b> 5 + <b>Anchored tube split</b> 25 is 14.5 mm less than the 47.5 mm"
    )


def test_what_an_import_put_into_a_message_stays_text():
    assert by_the_book("rail_class is '<b>'") == "<b>Rail class</b> is &#x27;&lt;b&gt;&#x27;"
