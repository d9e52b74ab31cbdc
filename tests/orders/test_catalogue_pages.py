"""The catalogue in the browser: reading the book of constants, drafting, importing, publishing; and the fabrics."""

import io
import re

import pytest
from django.urls import reverse

from calc import book
from calc.system import DEMO_38
from calc.system_file import written
from orders import catalogue
from orders.catalogue_forms import RevisionForm
from orders.models import Fabric, HardwareSystem, SystemRevision
from tests import factories
from tests.orders.pages import page_of, queries_of

pytestmark = pytest.mark.django_db
PUBLISHED, DRAFT = ("demo-38", 1), ("demo-38", 2)


@pytest.fixture
def manager(client):
    found = factories.person("manager", name="rhea")
    client.force_login(found)
    factories.system()
    return found


@pytest.fixture
def draft(manager):
    return catalogue.new_draft(system=HardwareSystem.objects.get(), by=manager, at=factories.AT)


def typed(**changed):
    """What a browser sends for a draft's constants; hyphens in a name stand as two underscores."""
    sent = {each.key.replace(".", "-"): book.shown(book.value_of(DEMO_38, each.key)) for each in book.constants()}
    sent |= {"source": DEMO_38.source}
    return sent | {name.replace("__", "-"): value for name, value in changed.items()}


def save(client, **changed):
    return client.post(reverse("revision-edit", args=DRAFT), typed(**changed))


def text_of(answer):
    page = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return re.sub(r"\s+", " ", page.replace("&#x27;", "'").replace("&quot;", '"'))


# Reading


def test_the_page_of_a_system_shows_every_constant_in_force_with_its_meaning_unit_and_range(client, sales):
    page = client.get(reverse("system", args=["demo-38"]))
    rows = {row["constant"].name: row for part in page.context["parts"] for row in part["rows"]}
    assert [cell["value"] for cell in rows["link_pitch_mm"]["cells"]] == ["80", "117"]
    said = text_of(page)
    for constant in book.constants():
        value = book.shown(book.value_of(DEMO_38, constant.key)) or "none"
        assert constant.meaning in said
        assert constant.range_words in said
        assert value in said
    assert "Wands stocked wand lengths, shortest first 100 to 4000 mm 500, 750, 1000, 1250, 1500 mm" in said


def test_sales_may_look_and_find_no_button_to_change_anything(client, sales):
    for name, args in (("catalogue", ()), ("system", ["demo-38"]), ("revision", PUBLISHED)):
        page = page_of(client, name, *args)
        for words in ("New draft", "Retire the system", "Import", "Add a fabric", "Edit constants", "New system"):
            assert words not in page


def test_a_catalogue_with_nothing_in_it_says_so(client):
    client.force_login(factories.person("administrator"))
    page = page_of(client, "catalogue")
    assert "No hardware system yet." in page
    assert "No fabric yet." in page


def test_a_long_catalogue_asks_the_database_no_more_than_a_short_one(client, manager, draft):
    factories.fabric()
    few = queries_of(client, reverse("catalogue"))
    for number in range(20):
        catalogue.add_system(code=f"bay-{number}", name=f"Bay {number}", constants=DEMO_38, by=manager, at=factories.AT)
        factories.fabric(code=f"fabric-{number}", name=f"Cloth {number}")
    assert queries_of(client, reverse("catalogue")) == few


# Drafting


def test_a_new_draft_opens_its_constants_to_edit_and_a_second_one_is_refused_in_words(client, manager):
    assert client.post(reverse("draft-new", args=["demo-38"])).url == reverse("revision-edit", args=DRAFT)
    again = client.post(reverse("draft-new", args=["demo-38"]))
    assert again.status_code == 409
    assert "has a draft already: revision 2, drafted by rhea" in text_of(again)


def test_what_was_typed_is_kept_and_shown_beside_the_value_in_force(client, draft):
    assert save(client, end_cover_mm="4.5", vane_89__link_pitch_mm="78").url == reverse("revision", args=DRAFT)
    page = client.get(reverse("revision", args=DRAFT))
    assert [(each["words"], each["was"], each["value"]) for each in page.context["changes"]] == [
        ("End cover", "3", "4.5"),
        ("Link pitch, 89 mm vanes", "80", "78"),
    ]
    assert "4.5 was 3" in text_of(page)
    assert "in force 80" in text_of(client.get(reverse("revision-edit", args=DRAFT)))


def test_bad_input_is_refused_beside_its_field_and_nothing_typed_is_lost(client, draft):
    answer = save(client, end_cover_mm="three", ball_pitch_mm="600", wands_mm="500, 7x0", rod_shortfall_mm="11")
    assert answer.status_code == 422
    page, said = answer.content.decode(), text_of(answer)
    for kept in ("three", "600", "500, 7x0", "11"):
        assert f'value="{kept}"' in page
    assert "“three” is not a number" in said
    assert "600 mm is outside the sane range, 2 to 20 mm" in said
    assert "“7x0” is not a number" in said
    assert 'href="#id_end_cover_mm"' in page
    assert 'id="id_end_cover_mm_error"' in page
    assert SystemRevision.objects.get(number=2).as_system().rod_shortfall_mm == 9


def test_an_empty_source_is_refused(client, draft):
    assert "Say where the values come from" in text_of(save(client, source=" "))


def test_a_constant_that_is_cleared_is_refused_and_a_tolerance_above_4000_is_not(client, draft):
    assert "Give it: 0 to 20 mm, such as 3." in text_of(save(client, end_cover_mm=""))
    assert save(client, above_4000_c_mm="").status_code == 302
    assert SystemRevision.objects.get(number=2).as_system().above_4000_c_mm is None


def test_a_draft_changed_by_another_meanwhile_is_not_overwritten(client, draft):
    opened = client.get(reverse("revision-edit", args=DRAFT)).context["form"]
    save(client, end_cover_mm="4")
    late = client.post(reverse("revision-edit", args=DRAFT), typed(end_cover_mm="5") | {"seen": opened["seen"].value()})
    assert late.status_code == 422
    assert "was changed by somebody else while you had it open" in text_of(late)
    assert 'value="5"' in late.content.decode()
    assert SystemRevision.objects.get(number=2).as_system().end_cover_mm == 4


@pytest.mark.parametrize("page", ["revision-edit", "revision-publish", "revision-discard"])
def test_a_published_revision_can_be_neither_edited_nor_published_nor_discarded(client, manager, page):
    for send in (client.get, client.post):
        answer = send(reverse(page, args=PUBLISHED))
        assert answer.status_code == 409
        assert "only a draft can be" in text_of(answer)


def test_every_field_has_a_label_of_its_own(draft):
    labels = [field.label for field in RevisionForm(system=DEMO_38) if not field.is_hidden]
    assert len(labels) == len(set(labels)) == len(book.constants()) + 1


# Publishing


def test_publishing_shows_what_changes_and_what_a_tape_cant_decide_and_then_puts_it_in_force(client, manager, draft):
    save(client, end_cover_mm="4")
    page = client.get(reverse("revision-publish", args=DRAFT))
    said = text_of(page)
    assert "End cover 3 4 mm" in said
    assert "spacer tube of 25 mm: a class II tape errs by 0.5 mm" in said
    assert "use a caliper" in said
    assert client.post(reverse("revision-publish", args=DRAFT)).url == reverse("system", args=["demo-38"])
    system = text_of(client.get(reverse("system", args=["demo-38"])))
    assert "in force from now on" in system
    assert re.search(r"Revision 2 Published \d+ \w+ \d{4} by rhea \d+ \w+ \d{4} by rhea", system)


def test_a_broken_draft_is_refused_with_every_reason_and_has_no_button(client, draft):
    save(client, vane_89__lead_tube_one_way_mm="10")
    page = client.get(reverse("revision-publish", args=DRAFT))
    assert "1 thing stands in the way of publishing." in text_of(page)
    assert "7 mm less than the 47.5 mm" in text_of(page)
    assert '<button class="main">Publish' not in page.content.decode()
    assert client.post(reverse("revision-publish", args=DRAFT)).status_code == 422
    assert SystemRevision.objects.get(number=2).state == "draft"


def test_retiring_says_what_it_means_before_and_after(client, manager):
    factories.order(by=manager, lines=[{}, {}])
    asked = text_of(client.get(reverse("system-retire", args=["demo-38"])))
    assert "2 lines of open orders can't be released then." in asked.replace("’", "'")
    client.post(reverse("system-retire", args=["demo-38"]))
    said = text_of(client.get(reverse("system", args=["demo-38"]))).replace("’", "'")
    assert "No published revision. 2 lines of open orders use this system and can't be worked out or released" in said
    assert "No published revision." in text_of(client.get(reverse("catalogue")))


def test_discarding_asks_first_and_leaves_the_published_revision(client, draft):
    assert "thrown away" in page_of(client, "revision-discard", *DRAFT)
    client.post(reverse("revision-discard", args=DRAFT))
    assert list(SystemRevision.objects.values_list("number", flat=True)) == [1]


def test_a_new_system_starts_with_a_draft_of_the_constants_chosen(client, manager):
    entered = {"name": "Bay 45", "code": "bay-45", "start_from": "demo-38"}
    assert client.post(reverse("system-new"), entered).url == reverse("revision-edit", args=["bay-45", 1])
    assert SystemRevision.objects.get(system__code="bay-45").as_system().end_cover_mm == 3
    again = client.post(reverse("system-new"), entered)
    assert "There is a system bay-45 already" in text_of(again)
    assert "is no code" in text_of(client.post(reverse("system-new"), entered | {"code": "Bay 45"}))


# Files


def sent(client, content, **fields):
    file = io.BytesIO(content)
    file.name = "ours.toml"
    return client.post(reverse("system-import"), {"file": file, "text": "", "name": "", **fields})


def test_an_exported_system_comes_back_as_a_draft_and_is_not_published(client, manager):
    exported = client.get(reverse("revision-file", args=PUBLISHED))
    assert exported["Content-Disposition"] == 'attachment; filename="demo-38-revision-1.toml"'
    assert exported.content.decode() == written(DEMO_38)
    assert sent(client, exported.content).url == reverse("revision", args=DRAFT)
    first, second = SystemRevision.objects.order_by("number")
    assert (first.state, second.state) == ("published", "draft")
    assert second.constants == first.constants | {"revision": 2}


def test_a_file_of_a_system_that_is_not_here_makes_it_with_a_draft(client, manager):
    text = written(DEMO_38).replace('"demo-38"', '"bay-45"', 1)
    assert sent(client, text.encode(), name="Bay 45").url == reverse("revision", args=["bay-45", 1])
    assert HardwareSystem.objects.get(code="bay-45").name == "Bay 45"
    assert SystemRevision.objects.get(system__code="bay-45").state == "draft"


def test_pasted_text_is_read_as_a_file_is(client, manager):
    answer = client.post(reverse("system-import"), {"text": written(DEMO_38).replace("\n", "\r\n"), "name": ""})
    assert answer.url == reverse("revision", args=DRAFT)


def test_a_file_with_mistakes_is_refused_and_its_text_stays_to_be_mended(client, manager):
    broken = written(DEMO_38).replace("end_cover_mm = 3", "end_cover_mm = 33", 1)
    answer = sent(client, broken.encode())
    assert answer.status_code == 422
    assert "end_cover_mm: 33 mm is outside the sane range" in text_of(answer)
    assert "end_cover_mm = 33" in answer.content.decode()
    assert SystemRevision.objects.count() == 1


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "The submitted file is empty"),
        (b"\xff\xfe\x00", "is not UTF-8 text: byte 1 is none"),
        (b"x" * 200_000, "has 200000 bytes"),
        (b"\x89PNG\r\n", "is not UTF-8"),
        (b"not a system", "is not TOML"),
    ],
)
def test_a_file_that_is_none_is_answered_in_words(client, manager, content, says):
    answer = sent(client, content)
    assert answer.status_code == 422
    assert says in text_of(answer)


def test_an_import_is_refused_while_there_is_a_draft(client, draft):
    answer = sent(client, written(DEMO_38).encode())
    assert answer.status_code == 422
    assert "has a draft already: revision 2" in text_of(answer)


def test_an_import_of_nothing_asks_for_a_file(client, manager):
    assert "Choose the file of a system" in text_of(client.post(reverse("system-import"), {"text": " "}))


# Fabrics

CLOTH = {
    "name": "Larkrise",
    "colour": "chalk",
    "code": "larkrise-chalk-89",
    "vane_width_mm": "89",
    "weight_g_per_m2": "210",
    "stiffness": "soft",
}


def test_a_fabric_is_added_changed_and_no_longer_offered(client, manager):
    client.post(reverse("fabric-new"), CLOTH)
    fabric = Fabric.objects.get()
    client.post(reverse("fabric", args=[fabric.pk]), CLOTH | {"weight_g_per_m2": "230", "stiffness": "rigid"})
    client.post(reverse("fabric-offer", args=[fabric.pk]), {"offered": "no"})
    fabric.refresh_from_db()
    assert (fabric.weight_g_per_m2, fabric.stiffness, fabric.offered) == (230, "rigid", False)
    assert "no longer" in page_of(client, "catalogue")
    client.post(reverse("fabric-offer", args=[fabric.pk]), {"offered": "yes"})
    assert Fabric.objects.offered().get() == fabric


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"weight_g_per_m2": "0"}, "0 g/m² is no blind fabric"),
        ({"weight_g_per_m2": "heavy"}, "That is not a weight"),
        ({"vane_width_mm": ""}, "Choose the vane width"),
        ({"name": ""}, "Type the fabric's name."),
        ({"code": "linden-89"}, "already exists"),
    ],
)
def test_a_fabric_that_makes_no_sense_is_refused_and_the_rest_is_kept(client, manager, wrong, says):
    factories.fabric()
    answer = client.post(reverse("fabric-new"), CLOTH | wrong)
    assert answer.status_code == 422
    assert says in text_of(answer)
    assert 'value="chalk"' in answer.content.decode()
    assert Fabric.objects.count() == 1


def test_a_fabric_in_use_says_by_how_many_lines_and_is_not_taken_off_the_list(client, manager):
    factories.order(by=manager, lines=[{}])
    fabric = Fabric.objects.get()
    assert "Used by 1 order line:" in text_of(client.get(reverse("fabric", args=[fabric.pk])))
    answer = client.post(reverse("fabric-remove", args=[fabric.pk]))
    assert answer.status_code == 409
    assert "Stop offering it instead" in text_of(answer)
    changed = client.post(reverse("fabric", args=[fabric.pk]), CLOTH | {"vane_width_mm": "127"})
    assert "stays 89 mm" in text_of(changed)
    assert Fabric.objects.get().vane_width_mm == 89


def test_a_fabric_that_nothing_uses_is_taken_off_the_list(client, manager):
    fabric = factories.fabric()
    assert "Take it off the list" in page_of(client, "fabric-remove", fabric.pk)
    client.post(reverse("fabric-remove", args=[fabric.pk]))
    assert not Fabric.objects.exists()
