"""An order's lines in the grid: by the keyboard alone, pasted from a spreadsheet, and a slip that is asked about."""

import pytest
from playwright.sync_api import expect

from orders.models import Order, SlipAnswer
from tests import factories

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def sales():
    factories.system()
    for width in (89, 127):
        factories.fabric(width)
    return factories.person("sales", name="nora")


@pytest.fixture
def grid(page, sign_in, sales):
    """The grid of an order without lines, of a customer who ordered before."""
    factories.order(by=sales, lines=[{}])
    order = factories.order(by=sales)
    sign_in(page, sales)
    # Figures that are asked for anew before they came, or left with the page, are given up, which htmx says aloud.
    page.watch.allow("htmx:sendAbort|htmx:afterRequest")
    page.goto(f"/orders/{order.number}/lines/")
    return page


class Keys:
    """A keyboard that counts what is pressed."""

    def __init__(self, page):
        self.keyboard, self.pressed = page.keyboard, 0

    def type(self, text):
        self.keyboard.type(text)
        self.pressed += len(text)

    def press(self, *keys):
        for key in keys:
            self.keyboard.press(key)
            self.pressed += 1


def focused(page):
    return page.evaluate("document.activeElement.name")


def cell(page, row, column):
    return page.locator(f"[name='r{row}-{column}']")


TEN = [
    # room, basis, width, drop, hand
    ("Kitchen", "r", "1830", "1600", "l"),
    ("Kitchen", "r", "1200", "1600", "r"),
    ("Dining", "r", "2400", "2150", "l"),
    ("Dining", "r", "1.8 m", "2150", "r"),
    ("Lounge", "r", "3100", "2150", "l"),
    ("Lounge", "r", "900", "2150", "l"),
    ("Study", "r", "72 in", "1350", "r"),
    ("Landing", "r", "1000", "1900", "r"),
    ("Bedroom 1", "r", "1500", "1350", "l"),
    ("Bedroom 2", "r", "1510", "1350", "l"),
]


def test_ten_lines_are_entered_with_the_keyboard_alone(grid):
    page, keys = grid, Keys(grid)
    assert focused(page) == "r0-room"
    for room, basis, width, drop, hand in TEN:
        keys.type(room)
        keys.press("Tab", "Tab")  # over the count of blinds
        keys.type(basis)
        for text in (width, drop, hand):
            keys.press("Tab")
            keys.type(text)
        keys.press("Enter")
    assert focused(page) == "r10-room"
    expect(page.locator("#grid-totals")).to_contain_text("10 blinds")
    keys.press("Control+Enter")
    expect(page.locator(".message")).to_contain_text("10 lines added")
    lines = list(Order.objects.get(number=2).lines.in_order())
    assert [(line.room, str(line.width_mm), line.hand) for line in lines[5:8]] == [
        ("Lounge", "900.0", "left"),
        ("Study", "1828.8", "right"),
        ("Landing", "1000.0", "right"),
    ]
    assert {(line.size_basis, line.draw, line.chain) for line in lines} == {("recess", "split", "metal")}
    # What ten lines take: some 23 keys each, room and sizes among them; a slip of the way between cells would show.
    assert keys.pressed <= 240


def test_arrows_go_between_rows_and_enter_goes_back_to_where_tab_began(grid):
    page = grid
    cell(page, 0, "width_mm").focus()
    page.keyboard.type("1830")
    page.keyboard.press("ArrowDown")
    assert focused(page) == "r1-width_mm"
    page.keyboard.press("ArrowUp")
    assert focused(page) == "r0-width_mm"
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert focused(page) == "r0-hand"
    page.keyboard.press("Enter")
    assert focused(page) == "r1-width_mm"
    page.keyboard.press("Shift+Enter")
    assert focused(page) == "r0-width_mm"
    page.keyboard.press("ArrowRight")
    assert focused(page) == "r0-drop_mm"
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowDown")
    assert focused(page) == "r1-hand"
    expect(cell(page, 0, "hand")).to_have_value("")


def test_cells_and_rows_are_copied_from_above(grid):
    page = grid
    cell(page, 0, "size_basis").select_option("recess")
    cell(page, 0, "hand").select_option("right")
    cell(page, 0, "vane_width_mm").select_option("127")
    expect(cell(page, 0, "fabric").locator("option:checked")).to_have_text("Linden chalk, 127 mm")
    cell(page, 0, "drop_mm").fill("1600")
    cell(page, 1, "drop_mm").focus()
    page.keyboard.press("Control+d")
    expect(cell(page, 1, "drop_mm")).to_have_value("1600")
    cell(page, 1, "hand").focus()
    page.keyboard.type('"')
    expect(cell(page, 1, "hand")).to_have_value("right")
    page.keyboard.press("Control+Shift+d")
    expect(cell(page, 1, "size_basis")).to_have_value("recess")
    expect(cell(page, 1, "fabric").locator("option:checked")).to_have_text("Linden chalk, 127 mm")
    expect(cell(page, 1, "width_mm")).to_have_value("")
    page.get_by_role("button", name="Line 3 as the row above").click()
    expect(cell(page, 2, "hand")).to_have_value("right")


def test_what_is_typed_and_not_saved_outlives_a_reload_and_is_left_behind_with_the_page(grid):
    page = grid
    cell(page, 0, "room").fill("Bay")
    cell(page, 0, "hand").select_option("right")
    page.evaluate(PASTE, ["r9-room", "Hall\t2\nLoft\t3"])
    page.reload()
    expect(page.locator("#grid-kept")).to_be_visible()
    expect(cell(page, 0, "hand")).to_have_value("right")
    expect(cell(page, 10, "room")).to_have_value("Loft")
    expect(page.locator("#said-0")).to_contain_text("Still needed: basis, width, drop.")
    page.get_by_role("link", name="Leave").click()
    page.get_by_role("link", name="Enter the lines").click()
    expect(cell(page, 0, "room")).to_have_value("")
    expect(page.locator("#grid-kept")).to_be_hidden()


BLOCK = (
    "Room\tBlinds\n"
    "Bay\t2\tRecess\t183 cm\t1600\tL\tSplit\t127\tLinden chalk\n"
    "Bay\t1\trecess\t72 in\t1600\tright\tReverse\t89 mm\tlinden-89\n"
    "Hall\t\texact\t1200\t1500\tupside\t\t\t\n"
)
PASTE = """([place, text]) => {
    const data = new DataTransfer();
    data.setData('text/plain', text);
    document.querySelector(`[name='${place}']`).dispatchEvent(
        new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true }));
}"""


def test_a_block_from_a_spreadsheet_is_pasted_and_what_is_not_read_stays_to_be_put_right(grid):
    page = grid
    page.watch.allow("422")
    page.evaluate(PASTE, ["r8-room", BLOCK])
    expect(page.locator("tr.cells")).to_have_count(11)
    expect(cell(page, 8, "hand")).to_have_value("left")
    expect(cell(page, 9, "draw")).to_have_value("reverse")
    expect(cell(page, 9, "fabric").locator("option:checked")).to_have_text("Linden chalk, 89 mm")
    expect(page.locator("#said-8")).to_contain_text("Width: 183 cm = 1830 mm")
    expect(page.locator("#said-10")).to_contain_text("Hand: “upside” is none of Left, Right")
    page.get_by_role("button", name="Save the lines").last.click()
    expect(page.locator("#problems")).to_contain_text("“upside” is none of Left, Right")
    expect(page.locator("#problems")).to_be_focused()
    page.locator("#problems").get_by_role("link").first.click()
    assert focused(page).endswith("-hand")
    page.keyboard.type("l")
    page.keyboard.press("Control+Enter")
    expect(page.locator(".message")).to_contain_text("3 lines added")
    lines = list(Order.objects.get(number=2).lines.in_order())
    assert [(line.quantity, str(line.width_mm), line.vane_width_mm) for line in lines] == [
        (2, "1830.0", 127),
        (1, "1828.8", 89),
        (1, "1200.0", 89),
    ]


def test_a_slip_is_asked_about_as_it_is_typed_and_answered(grid):
    page = grid
    page.evaluate(PASTE, ["r0-room", "Bay\t1\tRecess\t1200\t2400\tl\nBay\t1\tRecess\t2400\t1500\tl"])
    said = page.locator("#said-1")
    expect(said).to_contain_text("Width 2400 and drop 1500 look swapped")
    said.get_by_label("It is right").check()
    expect(said.get_by_label("It is right")).to_be_checked()
    expect(said.get_by_label("It is right")).to_be_focused()
    page.get_by_role("button", name="Save the lines").last.click()
    expect(page.locator(".questions")).to_contain_text("It is right, said nora")
    assert SlipAnswer.objects.get().line.position == 2
