"""The wash place: what is due, the baths that stand, mixing one by numbers that were published, its tests, its end."""

from collections.abc import Callable
from datetime import timedelta
from io import BytesIO
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone
from pypdf import PdfReader

from crews.models import Crew
from equipment.actions.bathing import Mixing, try_strength
from equipment.models import BathState, Entry
from tests.cast import Farm
from tests.farm import Post
from tests.washing import dipped, mixed, pen, sterile, text

ClientOf = Callable[[str], Any]
DAY = timedelta(days=1)


@pytest.fixture
def farm(ruled_farm: Farm) -> Farm:
    return ruled_farm


def mix(client: Any, **fields: Any) -> Any:
    """The numbers, as the page works them out."""
    return client.get("/wash/mix/", {"recipe": "clippers_daily_bleach", "litres": "20", **fields})


def write(client: Any, **fields: Any) -> Any:
    asked = {"recipe": "clippers_daily_bleach", "litres": "20", "strength": "5", **fields}
    return client.post("/wash/mix/", asked, follow=True)


# What is due


def test_what_is_due_stands_by_method_and_kind_with_cause_and_since_when(
    farm: Farm, client_of: ClientOf
) -> None:
    (never,) = farm.gear("clippers", days_ago=2)
    (bag,) = farm.gear("bag", days_ago=1)
    said = text(client_of("mo").get("/wash/"))
    assert said.index("To wash 1") < said.index(bag) < said.index("To sterilise 1") < said.index(never)
    assert (
        "never done yet" in said and "(it may go out all the same)" in said and "No bath stands here." in said
    )


def test_what_falls_due_before_the_morning_stands_there_too(farm: Farm, client_of: ClientOf) -> None:
    soon, later = farm.gear("clippers", 2, days_ago=9)
    # 72 hours on the shelf: the one is over in an hour, the other in two days.
    dipped(farm, mixed(farm, 71 * 60 + 5), [soon], ago=71 * 60)
    dipped(farm, mixed(farm, 25 * 60), [later], ago=24 * 60)
    said = text(client_of("rosa").get("/wash/"))
    assert soon in said and "lay too long from" in said
    assert later not in said


def test_nothing_due_says_until_when(farm: Farm, client_of: ClientOf) -> None:
    assert "Nothing is due here until" in text(client_of("rosa").get("/wash/"))


def test_gear_of_another_store_and_gear_that_is_out_is_not_in_the_list(
    farm: Farm, client_of: ClientOf, post: Post
) -> None:
    (there,), (out,) = farm.gear("clippers", store="B", days_ago=1), farm.gear("clippers", days_ago=1)
    post(farm.entry("handed_out", item=out, picker=farm.badges["ana"]), gate="note")
    said = text(client_of("rosa").get("/wash/?store=A"))
    assert there not in said and out not in said
    assert there in text(client_of("rosa").get("/wash/?store=B"))


def test_many_pieces_cost_no_more_queries(
    farm: Farm, client_of: ClientOf, django_assert_max_num_queries: Any
) -> None:
    client = client_of("rosa")
    farm.gear("clippers", 60, days_ago=1)
    baths = [mixed(farm) for _ in range(8)]
    for bath in baths:
        dipped(farm, bath, farm.gear("clippers", 3, days_ago=1), ago=1)
    with django_assert_max_num_queries(14):
        said = text(client.get("/wash/"))
    assert "and 40 more" in said


# The baths


def test_a_bath_says_until_when_it_is_good_and_what_it_has_taken(farm: Farm, client_of: ClientOf) -> None:
    bath = mixed(farm, 30)
    dipped(farm, bath, farm.gear("clippers", 3, days_ago=1), ago=5)
    said = text(client_of("rosa").get("/wash/"))
    assert "Clippers, every day: bleach 0.5 % 20 litres" in said
    assert "89 minutes left" in said and "3 of 200" in said and "not tested" in said


@pytest.mark.parametrize(
    ("spoilt", "why"),
    [
        ({"ago": 121}, "Takes no more: the bath was too old"),
        ({"mixing": Mixing("clippers_daily_bleach", 20, 1000, 5)}, "the bath was mixed too weak"),
        (
            {"mixing": Mixing("clippers_daily_bleach", 0.3, 30, 5), "full": 3},
            "had taken all the items that it can",
        ),
    ],
)
def test_why_a_bath_takes_no_more(spoilt: Any, why: str, farm: Farm, client_of: ClientOf) -> None:
    full = spoilt.pop("full", 0)
    bath = mixed(farm, **spoilt)
    if full:
        dipped(farm, bath, farm.gear("clippers", full, days_ago=1))
    assert why in text(client_of("rosa").get("/wash/"))
    assert "It takes no more" in text(client_of("rosa").get(f"/wash/baths/{bath}/"))


def test_a_bath_of_another_store_stands_there(farm: Farm, client_of: ClientOf) -> None:
    mixed(farm, store="B")
    assert "No bath stands here." in text(client_of("rosa").get("/wash/?store=A"))
    assert "bleach 0.5 %" in text(client_of("rosa").get("/wash/?store=B"))


def test_who_sees_which_store(farm: Farm, client_of: ClientOf) -> None:
    """A supervisor the store that their crews draw from; the manager looks, and does nothing."""
    theirs, other = mixed(farm), mixed(farm, store="B")
    assert "Wash, Store A" in text(client_of("sam").get("/wash/?store=B"))
    assert client_of("sam").get(f"/wash/baths/{theirs}/").status_code == 200
    assert client_of("sam").get(f"/wash/baths/{other}/").status_code == 404
    manager = client_of("frank")
    said = text(manager.get("/wash/")) + text(manager.get(f"/wash/baths/{theirs}/"))
    assert "Mix a dip bath" not in said and "Write the test down" not in said
    assert manager.post(f"/wash/baths/{theirs}/test/", {"ppm": "5000"}).status_code == 403


def test_the_page_refreshes_itself_with_what_it_showed(farm: Farm, client_of: ClientOf) -> None:
    mixed(farm)
    farm.gear("clippers", days_ago=1)
    client = client_of("rosa")
    page = client.get("/wash/").content.decode()
    for part in ("baths", "due"):
        address = f"/wash/lines/?store=A&amp;part={part}"
        assert address in page
        lines = client.get(address.replace("&amp;", "&")).content.decode()
        assert lines.strip() in page and "<html" not in lines


def test_who_has_no_store_is_told_what_to_do(farm: Farm, client_of: ClientOf) -> None:
    Crew.objects.update(supervisor=None)
    assert "No store is yours to wash for." in text(client_of("sam").get("/wash/"))
    assert client_of("sam").get("/wash/dip/").status_code == 404


def test_many_dips_cost_no_more_queries(
    farm: Farm, client_of: ClientOf, django_assert_max_num_queries: Any
) -> None:
    bath, client = mixed(farm), client_of("rosa")
    dipped(farm, bath, farm.gear("clippers", 30, days_ago=1), ago=5)
    try_strength(pen(farm), bath, 100)
    with django_assert_max_num_queries(16):
        said = text(client.get(f"/wash/baths/{bath}/"))
    assert "To be dipped again 30" in said


# Mixing


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        # Iowa State University Extension: 1 part of household bleach, 9 parts of water.
        (
            {},
            (
                "2000 mL of product, made up to 20 L",
                "1 part product + 9 parts water",
                "(18 L of water in all)",
            ),
        ),
        # CDC, chlorine solution for non-healthcare settings, 9 February 2021: 0.1 % in 20 L from 5 %.
        (
            {"recipe": "surfaces_bleach", "strength": "5,0"},
            (
                "400 mL of product, made up to 20 L",
                "1 part product + 49 parts water",
                "19.6 L of water in all",
            ),
        ),
        # CDC, Best Practices ..., Appendix E: 3.5 % to 0.5 % is 6 parts of water to one.
        (
            {"strength": "3,5", "litres": "7"},
            ("1000 mL of product, made up to 7 L", "1 part product + 6 parts water"),
        ),
        # Computed: 0.1 % from a 35 % powder is 2.86 g a litre (Appendix E: wanted / available x 1000).
        (
            {"recipe": "surfaces_powder", "litres": "10"},
            (
                "29 g of powder, made up to 10 L",
                "Stir 29 g of powder into the water, never water onto powder",
            ),
        ),
        (
            {"recipe": "clippers_alcohol", "litres": "0,5"},
            ("500 mL of product, as it comes", "Put no water to it"),
        ),
    ],
)
def test_the_numbers_of_a_bath(asked: Any, says: tuple[str, ...], farm: Farm, client_of: ClientOf) -> None:
    said = text(mix(client_of("mo"), **asked))
    for words in says:
        assert words in said
    assert "Label and safety sheet first." in said


def test_every_caution_stands_beside_the_numbers(farm: Farm, client_of: ClientOf) -> None:
    said = text(mix(client_of("mo")))
    for caution in (
        "Label and safety sheet first.",
        "Bleach into water, never water into bleach.",
        "Never with acid (vinegar included) or ammonia",
        "Gloves, goggles, apron; out of doors or with the doors open.",
        "Emptied into a toilet or drain to a septic tank or sewer",
        "Rinse in clean water. Dry and oil: bleach eats steel.",
    ):
        assert caution in said
    assert said.index("Pour 2000 mL of product into the water") > said.index("of clean water into the bucket")


def test_only_recipes_that_sterilise_are_offered_by_kind(farm: Farm, client_of: ClientOf) -> None:
    html = client_of("mo").get("/wash/mix/").content.decode()
    assert '<optgroup label="Clippers">' in html and '<optgroup label="Ladders">' in html
    assert "wash_soap" not in html


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"strength": "0,4"}, "Water only makes it weaker: a product of 0.4 % cannot give 0.5 %"),
        ({"strength": "50000"}, "Is that figure in ppm?"),
        ({"strength": "0"}, "give a number above zero"),
        ({"strength": "5 %"}, "1 % is 10 000 ppm"),
        ({"litres": "0"}, "Volume in litres: give a number above zero"),
        ({"litres": "-20"}, "Volume in litres: give a number above zero, not -20"),
        ({"litres": "a bucket"}, "“a bucket” is not a number"),
        ({"litres": "nan"}, "is not a number"),
        ({"litres": "1,000"}, "can be read in two ways"),
        ({"litres": "900000"}, "more than one bath"),
        ({"litres": ""}, "This field is required"),
        ({"recipe": "vinegar"}, "Select a valid choice"),
        ({"recipe": "clippers_alcohol", "strength": "96"}, "take a product of 70 %, not of 96 %"),
    ],
)
def test_numbers_that_cannot_be_are_said_in_plain_words(
    asked: Any, says: str, farm: Farm, client_of: ClientOf
) -> None:
    response = mix(client_of("mo"), **asked)
    assert response.status_code == 400
    assert says in text(response)
    assert "It is mixed: write it down" not in text(response)


def test_a_mixing_is_written_down_with_lot_and_date(farm: Farm, client_of: ClientOf) -> None:
    expires = (timezone.localdate() + 90 * DAY).isoformat()
    said = text(write(client_of("mo"), lot="B-2231", expires=expires))
    assert "Print its label" in said and "lot B-2231" in said and expires in said and "by mo" in said
    row = BathState.objects.get()
    detail = Entry.objects.get(bath=row.bath).detail
    assert (row.store_id, row.recipe) == ("A", "clippers_daily_bleach")
    assert [float(detail[name]) for name in ("litres", "product_ml", "ppm")] == [20, 2000, 5000]
    assert "flaws" not in detail


def test_a_product_past_its_date_makes_no_bath(farm: Farm, client_of: ClientOf) -> None:
    response = write(client_of("mo"), expires=(timezone.localdate() - DAY).isoformat())
    assert response.status_code == 400 and "past its date" in text(response)
    assert not BathState.objects.exists()


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        ({}, "Only with a product that is labelled for it"),
        ({"labelled": "on"}, "This field is required"),
        ({"labelled": "on", "ph": "11"}, "pH 11 is outside 6.0 to 7.5"),
        ({"labelled": "on", "ph": "5,9"}, "pH 5.9 is outside 6.0 to 7.5"),
    ],
)
def test_canker_needs_a_product_that_is_labelled_for_its_ph(
    said: Any, answer: str, farm: Farm, client_of: ClientOf
) -> None:
    response = write(client_of("mo"), recipe="canker_chlorine", **said)
    assert response.status_code == 400 and answer in text(response)
    assert not BathState.objects.exists()


def test_acid_is_spoken_of_only_to_say_never(farm: Farm, client_of: ClientOf) -> None:
    said = text(write(client_of("mo"), recipe="canker_chlorine", labelled="on", ph="11"))
    for word in ("acid", "vinegar"):
        for place in range(len(said)):
            if said.startswith(word, place):
                assert "ever" in said[max(0, place - 60) : place]


def test_canker_at_its_ph_is_mixed(farm: Farm, client_of: ClientOf) -> None:
    said = text(write(client_of("mo"), recipe="canker_chlorine", litres="100", labelled="on", ph="6,8"))
    assert "6.8" in said and "It takes no more" not in said
    # Computed: 200 ppm in 100 L from 5 % is 400 mL, the 200 ppm of US 7 CFR 301.75-11.
    assert Entry.objects.get(verb="mixed").detail["product_ml"] == "400.0"


def test_the_label_of_the_bucket(farm: Farm, client_of: ClientOf) -> None:
    bath = mixed(farm)
    response = client_of("rosa").get(f"/wash/baths/{bath}/label.pdf")
    assert response["Content-Type"] == "application/pdf"
    page = " ".join(PdfReader(BytesIO(response.content)).pages[0].extract_text().split())
    assert "Clippers, every day: bleach 0.5 %" in page and "Good until" in page and "rosa" in page


# Strength tests


def read_off(client: Any, bath: Any, **fields: Any) -> Any:
    return client.post(f"/wash/baths/{bath}/test/", fields, follow=True)


def test_a_failed_test_says_what_must_be_dipped_again_and_where_it_is(
    farm: Farm, client_of: ClientOf, post: Post
) -> None:
    seven = farm.gear("clippers", 7, days_ago=1)
    bath = mixed(farm, 60)
    dipped(farm, bath, seven, ago=30)
    post(farm.entry("handed_out", item=seven[0], picker=farm.badges["ana"]), gate="note")
    said = text(read_off(client_of("rosa"), bath, ppm="3000"))
    assert (
        "3,000 ppm (0.3 %): the bath failed its test. It should be from 4,000 ppm (0.4 %) to 6,500 ppm"
        in said
    )
    assert "Clippers that must be dipped again: 7." in said
    assert "with Ana, Red crew" in said and all(tag in said for tag in seven)
    assert not any(map(sterile, seven))


def test_what_was_dipped_elsewhere_since_is_not_due(farm: Farm, client_of: ClientOf) -> None:
    one, two = farm.gear("clippers", 2, days_ago=1)
    bath, good = mixed(farm, 60), mixed(farm, 30)
    dipped(farm, bath, [one, two], ago=40)
    dipped(farm, good, [one], ago=10)
    said = text(read_off(client_of("rosa"), bath, ppm="1000"))
    assert (
        "Clippers that must be dipped again: 1." in said and "cleaned elsewhere since, so not due: 1." in said
    )
    assert sterile(one) and not sterile(two)


def test_a_good_test_that_was_read_earlier_and_comes_late_restores(farm: Farm, client_of: ClientOf) -> None:
    tags = farm.gear("clippers", 3, days_ago=1)
    bath = mixed(farm, 100)
    dipped(farm, bath, tags, ago=60)
    read_off(client_of("rosa"), bath, ppm="3000")
    read = timezone.localtime(timezone.now() - timedelta(minutes=20)).strftime("%Y-%m-%dT%H:%M")
    said = text(read_off(client_of("rosa"), bath, ppm="505", diluted="10", at=read))
    assert "5,050 ppm (0.505 %) is good" in said and "Clippers whose dip counts again: 3." in said
    assert all(map(sterile, tags))
    assert "To be dipped again" not in said


@pytest.mark.parametrize(
    ("said", "answer", "ppm"),
    [
        ({"ppm": "500,5", "diluted": "10"}, "5,005 ppm", 5005.0),
        ({"ppm": "4000"}, "is good", 4000.0),
        ({"ppm": "6500"}, "is good", 6500.0),
        ({"ppm": "3 999"}, "failed its test", 3999.0),
        ({"ppm": "6501"}, "failed its test", 6501.0),
        ({"ppm": "0"}, "failed its test", 0.0),
    ],
)
def test_a_reading_is_taken_times_its_dilution(
    said: Any, answer: str, ppm: float, farm: Farm, client_of: ClientOf
) -> None:
    bath = mixed(farm)
    assert answer in text(read_off(client_of("rosa"), bath, **said))
    detail = Entry.objects.get(verb="tested").detail
    assert float(detail["ppm"]) * float(detail["diluted"]) == pytest.approx(ppm)


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        ({"ppm": "0,5"}, "is that per cent?"),
        ({"ppm": "0.05", "diluted": "10"}, "is that per cent?"),
        ({"ppm": "0.5 %"}, "1 % is 10 000 ppm"),
        ({"ppm": "5,000"}, "can be read in two ways"),
        ({"ppm": "-5"}, "give zero or more"),
        ({"ppm": "strong"}, "is not a number"),
        ({"ppm": "inf"}, "is not a number"),
        ({"ppm": ""}, "This field is required"),
        ({"ppm": "5000", "diluted": "0"}, "never less"),
        ({"ppm": "900000", "diluted": "100"}, "Nothing is stronger than a million ppm"),
        ({"ppm": "5000", "at": "2199-01-01T05:30"}, "lies in the future"),
        ({"ppm": "5000", "at": "2001-01-01T05:30"}, "not mixed yet at that time"),
    ],
)
def test_a_reading_that_cannot_be_is_asked_about(
    said: Any, answer: str, farm: Farm, client_of: ClientOf
) -> None:
    bath = mixed(farm)
    response = read_off(client_of("rosa"), bath, **said)
    assert response.status_code == 400 and answer in text(response)
    assert not Entry.objects.filter(verb="tested").exists()


def test_a_bath_that_failed_takes_no_more(farm: Farm, client_of: ClientOf) -> None:
    bath = mixed(farm)
    try_strength(pen(farm), bath, 100)
    assert "the bath failed its strength test" in text(client_of("rosa").get("/wash/"))
    assert str(bath) not in client_of("rosa").get("/wash/dip/").content.decode()


# Emptying


def test_it_is_emptied_where_its_cautions_allow(farm: Farm, client_of: ClientOf) -> None:
    bath = mixed(farm)
    client = client_of("rosa")
    assert "a toilet or drain to a septic tank or sewer" in text(client.get(f"/wash/baths/{bath}/"))
    assert client.post(f"/wash/baths/{bath}/empty/", {"where": "ditch"}).status_code == 400
    assert "The bath is emptied" in text(
        client.post(f"/wash/baths/{bath}/empty/", {"where": "sewer"}, follow=True)
    )
    assert "No bath stands here." in text(client.get("/wash/"))
    assert "a toilet or drain to a septic tank" in text(client.get(f"/wash/baths/{bath}/"))
    client.post(f"/wash/baths/{bath}/empty/", {"where": "sewer"})
    assert Entry.objects.filter(verb="emptied").count() == 1


def test_a_bath_that_kills_fish_goes_down_no_drain(farm: Farm, client_of: ClientOf) -> None:
    bath = mixed(farm, mixing=Mixing("canker_quat", 20, 400, 10))
    said = text(client_of("rosa").get(f"/wash/baths/{bath}/"))
    assert "a closed drum" in said and "septic tank" not in said


@pytest.mark.parametrize("path", ["", "label.pdf", "test/", "empty/"])
def test_a_bath_that_never_was(path: str, farm: Farm, client_of: ClientOf) -> None:
    assert client_of("rosa").get(f"/wash/baths/{uuid4()}/{path}").status_code == 404


# What the scanning page asks


def ask(client: Any, tag: str, way: str, waiting: int = 0) -> dict[str, Any]:
    return client.get(f"/wash/check/{tag}/", {"way": way, "waiting": waiting}).json()


def test_what_may_go_in_and_what_may_not(farm: Farm, client_of: ClientOf, post: Post) -> None:
    clean, dirty, gone, lost = farm.gear("clippers", 4, days_ago=1)
    (bag,) = farm.gear("bag", days_ago=1)
    post(farm.entry("fault_found", item=dirty, detail={"fault": "dirty"}))
    post(farm.entry("written_off", item=gone, detail={"circumstance": "worn_out"}, note="worn"))
    post(farm.entry("missed", item=lost))
    client, way = client_of("rosa"), f"bath:{mixed(farm)}"
    answers = {tag: ask(client, tag, way) for tag in (clean, dirty, gone, lost, bag, "CL0001A")}
    assert answers[clean]["outcome"] == "yes"
    assert answers[dirty]["say"] == "Dirty: wash it first"
    assert answers[gone]["say"] == "Written off" and answers[lost]["say"] == "Marked missing"
    assert answers[bag]["say"] == "Not in this one"
    assert answers["CL0001A"]["say"] == "Not in the book"
    assert {each["outcome"] for tag, each in answers.items() if tag != clean} == {"no"}
    assert ask(client, dirty, "wash:wash_soap")["outcome"] == "yes"
    assert ask(client, bag, "dry")["outcome"] == "yes"


def test_a_bath_that_is_full_counts_what_waits_on_the_page(farm: Farm, client_of: ClientOf) -> None:
    one, two = farm.gear("clippers", 2, days_ago=1)
    own = mixed(farm, mixing=Mixing("clippers_daily_bleach", 0.3, 30, 5))
    way = f"bath:{own}"
    dipped(farm, own, [one])
    assert ask(client_of("rosa"), two, way, waiting=1)["outcome"] == "yes"
    assert ask(client_of("rosa"), two, way, waiting=2)["say"] == "This bath takes no more"
    assert ask(client_of("rosa"), two, f"bath:{uuid4()}")["say"] == "No bath to dip in"


def test_a_flag_that_the_bath_does_not_end_is_said(farm: Farm, client_of: ClientOf, post: Post) -> None:
    """1 + 9 parts do not clear an exocortis flag, about 1 % does: Roistacher, Calavan & Blue 1969."""
    (tag,) = farm.gear("clippers", days_ago=1)
    post(farm.entry("flagged", item=tag, detail={"disease": "exocortis"}), name="olga")
    weak, strong = mixed(farm), mixed(farm, mixing=Mixing("clippers_viroid_bleach", 5, 1050, 5))
    said = ask(client_of("rosa"), tag, f"bath:{weak}")
    assert said["outcome"] == "partial" and "exocortis" in said["why"][0].lower()
    assert ask(client_of("rosa"), tag, f"bath:{strong}")["outcome"] == "yes"


def test_a_supervisor_scans_what_their_crews_have(farm: Farm, client_of: ClientOf, post: Post) -> None:
    mine, other = farm.gear("clippers", 2, days_ago=1)
    post(farm.entry("handed_out", item=mine, picker=farm.badges["ana"]), gate="note")
    assert ask(client_of("sam"), mine, f"bath:{mixed(farm)}")["outcome"] == "yes"
    assert "not with one of your crews" in ask(client_of("sam"), other, "dry")["why"][0]


# A whole crew


def crew(client: Any, farm: Farm, bath: Any, **fields: Any) -> Any:
    asked = {
        "crew": farm.crews["red"].pk,
        "way": f"bath:{bath}",
        "kind": "clippers",
        "minutes": "10",
        **fields,
    }
    return client.post("/wash/crew/", asked, follow=True)


def test_a_whole_crew_is_looked_at_first_and_recorded_as_such(
    farm: Farm, client_of: ClientOf, post: Post
) -> None:
    tags = farm.gear("clippers", 2, days_ago=1)
    for tag, name in zip(tags, ("ana", "ben"), strict=True):
        post(farm.entry("handed_out", item=tag, picker=farm.badges[name]), gate="note")
    bath = mixed(farm)
    said = text(crew(client_of("sam"), farm, bath))
    assert "Did all these 2 pieces really go in?" in said and all(tag in said for tag in tags)
    assert not Entry.objects.filter(verb="cleaned").exists()
    said = text(crew(client_of("sam"), farm, bath, confirmed="1"))
    assert "Written down for Red crew as a whole: 2 pieces." in said
    entries = list(Entry.objects.filter(verb="cleaned"))
    assert {entry.detail["each_scanned"] for entry in entries} == {False}
    assert len({entry.act for entry in entries}) == 1 and all(map(sterile, tags))


def test_a_whole_crew_too_short_is_recorded_and_does_not_count(
    farm: Farm, client_of: ClientOf, post: Post
) -> None:
    (tag,) = farm.gear("clippers", days_ago=1)
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]), gate="note")
    said = text(crew(client_of("rosa"), farm, mixed(farm), minutes="9,5", confirmed="1"))
    assert "1 piece: It does not count: it acted for less than the recipe asks." in said
    assert not sterile(tag)


@pytest.mark.parametrize(
    ("fields", "answer"),
    [
        ({"minutes": ""}, "A dip needs its time"),
        ({"minutes": "-1"}, "above zero"),
        ({"way": "bath:nothing"}, "Select a valid choice"),
        ({"kind": "bag"}, "is not for this kind of gear"),
    ],
)
def test_what_a_whole_crew_cannot_be(fields: Any, answer: str, farm: Farm, client_of: ClientOf) -> None:
    response = crew(client_of("rosa"), farm, mixed(farm), **fields)
    assert response.status_code == 400 and answer in text(response)


def test_a_crew_that_has_none_and_a_crew_that_is_not_theirs(farm: Farm, client_of: ClientOf) -> None:
    bath = mixed(farm)
    assert "Red crew has nothing of that kind." in text(crew(client_of("sam"), farm, bath))
    response = crew(client_of("sam"), farm, bath, crew=farm.crews["blue"].pk)
    assert response.status_code == 400
