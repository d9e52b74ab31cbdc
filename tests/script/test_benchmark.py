"""The benchmark's own measures: a floor that shows the very same page, and goals that can be missed."""

from itertools import pairwise

import pytest
from django.template import Context, Template

from script.benchmark import alone, past, past_copies, percentile
from script.benchmark.__main__ import main, row
from script.benchmark.bare.copied import copied

PAGE = """<section id="queue" hx-headers='{"x-csrftoken": "TOKEN"}'>
  <p class="tally"><b>3</b> waiting</p><ol class="rows">
    <li class="row" id="row-0000010019"><a href="/stations/railing/0000010019/">0001-1</a> <i>Marlow &amp; Sons</i></li>
    <li class="row" id="row-0000010027"><a href="/stations/railing/0000010027/">0001-2</a> <b>Rush</b></li>
    <li class="row" id="row-0000020012"><a href="/stations/railing/0000020012/">0002-1</a> <i>Ina</i></li>
  </ol><svg viewBox="0 0 4 4"><path d="M1 2"/></svg><input name="csrfmiddlewaretoken" value="TOKEN">
</section>"""


def test_a_page_taken_apart_is_put_together_to_the_same_bytes():
    page = PAGE.replace("TOKEN", "t" * 64)
    template, (head, *rows) = copied(page)
    shown = [{"shape": shape, "shown": values} for shape, values in rows]
    made = Template(template).render(Context({"head": head[1], "rows": shown, "csrf_token": "t" * 64}))
    assert made == page
    assert [each["shape"] for each in shown] == [0, 1, 0]
    assert "Marlow & Sons" in shown[0]["shown"].values()
    assert "0001-1" not in template


def test_a_page_without_rows_is_its_own():
    page = '<h1>Railing 0412-3</h1><a href="/blinds/0004120039/">63.5 mm</a>'
    template, rows = copied(page)
    assert Template(template).render(Context({"head": rows[0][1], "rows": []})) == page


@pytest.mark.parametrize(("percent", "value"), [(50, 10), (95, 19), (100, 20), (1, 1)])
def test_a_percentile_is_a_value_that_so_many_dont_exceed(percent, value):
    assert percentile(range(20, 0, -1), percent) == value


def test_a_goal_is_reached_up_to_itself_and_missed_beyond():
    assert [alone("a look", ours=ours, unit="s", at_most=1)["reached"] for ours in (0.4, 1, 1.01)] == [
        True,
        True,
        False,
    ]
    assert "NOT REACHED" in row(alone("a look", ours=2, unit="s", at_most=1))


def test_a_part_that_there_is_not_is_refused_with_those_that_there_are(monkeypatch):
    monkeypatch.setattr("sys.argv", ["bench", "tables"])
    with pytest.raises(SystemExit, match=r"no part called tables.*tablets, finish, past"):
        main()


def test_each_customer_of_the_past_has_a_name_that_begins_no_other():
    names = sorted(past_copies.name(n) for n in range(past.MANY // past_copies.ORDERS_EACH))
    assert past_copies.name(7) == "Hollinbournebakeryhill"
    assert not any(after.startswith(before) for before, after in pairwise(names))
