"""In which language somebody is spoken to: who decides, and that it reaches pages, answers, mail and paper.

Accept-Language by RFC 9110, 12.5.4; `lang` of <html> by WCAG 2.2, 3.1.1. The Spanish that is looked for here is that
of our own message file: whether it is good Spanish no test can tell.
"""

from datetime import date
from typing import Any

import pytest
from django.conf import settings
from django.core import mail
from django.db import connection
from django.template import Context, Template
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone, translation
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from rest_framework.authtoken.models import Token
from rest_framework.test import APIClient

from crews import languages
from crews.models import User
from crews.sorting import by_name
from equipment.actions.print_register import print_register
from equipment.actions.remind import remind
from equipment.models import Printing
from equipment.models.registers import REGISTERS
from tests.cast import Farm
from tests.documents import reading
from tests.farm import Post, SignIn
from tests.mornings import hours_up
from tests.pages.test_registers import body
from tests.printing import asked, at, write

SPANISH = {"HTTP_ACCEPT_LANGUAGE": "es-MX,es;q=0.9,en;q=0.8"}


def speaks(farm: Farm, name: str, language: str) -> None:
    User.objects.filter(pk=farm.users[name].pk).update(language=language)


def language_of(answer: Any) -> str:
    """As its head says, and its <html>."""
    said = answer.headers["Content-Language"]
    assert f'<html lang="{said}"' in answer.content.decode()
    return str(said)


def test_a_stranger_is_spoken_to_as_the_browser_asks_or_as_they_choose(farm: Farm) -> None:
    browser = Client()
    assert language_of(browser.get("/sign-in/")) == "en"
    page = browser.get("/sign-in/", **SPANISH)
    assert language_of(page) == "es" and "Contraseña" in page.content.decode()
    assert 'name="language" value="es" lang="es"' in page.content.decode()
    chosen = browser.post("/language/", {"language": "es", "next": "/sign-in/"})
    assert chosen["Location"] == "/sign-in/" and chosen.cookies["django_language"]["httponly"]
    assert language_of(browser.get("/sign-in/")) == "es"


def test_one_chooses_on_ones_own_page_and_it_goes_before_the_browser(farm: Farm, as_: SignIn) -> None:
    rosa = as_("rosa")
    page = rosa.get("/me/").content.decode()
    assert '<option value="es">español (draft)</option>' in page and "A draft has not been read" in page
    assert rosa.post("/me/", {"language": "es"}).status_code == 302
    answer = rosa.get("/me/")
    assert language_of(answer) == "es" and "Anotado." in answer.content.decode()
    assert "español (borrador)" in answer.content.decode()
    speaks(farm, "rosa", "en")
    assert language_of(rosa.get("/", **SPANISH)) == "en"
    speaks(farm, "rosa", "")
    assert language_of(rosa.get("/", **SPANISH)) == "es"


def test_what_is_no_language_is_refused_and_one_that_is_gone_is_forgotten(farm: Farm, as_: SignIn) -> None:
    rosa = as_("rosa")
    assert rosa.post("/me/", {"language": "tlh"}).status_code == 400
    speaks(farm, "rosa", "tlh")
    assert language_of(rosa.get("/")) == "en"


def test_one_persons_language_is_not_the_next_ones(farm: Farm, as_: SignIn) -> None:
    speaks(farm, "rosa", "es")
    assert [language_of(as_(name).get("/")) for name in ("rosa", "olga", "rosa", "frank")] == [
        "es",
        "en",
        "es",
        "en",
    ]


def test_the_farms_language_is_the_last_word(farm: Farm, settings: Any) -> None:
    settings.LANGUAGE_CODE = "es"
    assert language_of(Client().get("/sign-in/")) == "es"


def test_what_is_not_there_is_said_in_the_readers_language(farm: Farm, as_: SignIn) -> None:
    speaks(farm, "rosa", "es")
    answer = as_("rosa").get("/no-such-page/")
    assert answer.status_code == 404 and language_of(answer) == "es"
    refused = as_("rosa").get("/rules/no-such-rule/")
    assert refused.status_code == 404 and language_of(refused) == "es"


@pytest.mark.parametrize(
    ("language", "stays"),
    [("en", "stays here: Worn spring, found"), ("es", "se queda aquí: Resorte gastado")],
)
def test_the_counters_answers(ruled_farm: Farm, post: Post, language: str, stays: str) -> None:
    """No, why, what instead; yes; and taken back: as the storeman at the counter is told."""
    speaks(ruled_farm, "rosa", language)
    farm = ruled_farm
    worn, good = (farm.gear("clippers", days_ago=days)[0] for days in (3, 2))
    wiped = {"method": "sterilise", "recipe": "clippers_alcohol", "seconds": 60, "each_scanned": True}
    post(*(farm.entry("cleaned", item=tag, detail=wiped) for tag in (worn, good)))
    post(farm.entry("fault_found", item=worn, detail={"fault": "clippers_worn_spring"}))
    (refused,) = post(farm.entry("handed_out", item=worn, picker=farm.badges["ana"]))
    assert refused["code"] == "stop_use" and stays in refused["say"]
    assert refused["state"]["instead"] == good and good in refused["say"]
    given = farm.entry("handed_out", item=good, picker=farm.badges["ana"])
    (out,) = post(given)
    (back,) = post(farm.entry("reversed", item=good, detail={"entry": given["id"]}))
    assert (out["outcome"], back["outcome"]) == ("recorded", "recorded")
    with translation.override(language):
        assert _("Take %(instead)s instead.") % {"instead": good} in refused["say"]
    speaks(farm, "rosa", "en" if language == "es" else "es")
    (other,) = post(farm.entry("handed_out", item=worn, picker=farm.badges["ana"]))
    assert other["say"] != refused["say"]


def test_who_comes_with_a_token_is_answered_in_their_language(farm: Farm) -> None:
    client = APIClient(HTTP_AUTHORIZATION=f"Token {Token.objects.create(user=farm.users['rosa'])}")
    entry = farm.entry("handed_out", item="BG99990", picker=farm.badges["ana"])
    said = []
    for language in ("en", "es"):
        speaks(farm, "rosa", language)
        answer = client.post("/api/entries/", farm.batch([entry]), format="json")
        said.append(answer.json()["answers"][0]["say"])
        assert answer.headers["Content-Language"] == language
    assert said[0] != said[1]


def test_a_language_costs_a_scan_no_query(farm: Farm, client_of: Any) -> None:
    asked_for = []
    for language in ("", "es"):
        speaks(farm, "rosa", language)
        client, (tag,) = client_of("rosa"), farm.gear("bag")
        batch = farm.batch([farm.entry("handed_out", item=tag, picker=farm.badges["ana"])])
        with CaptureQueriesContext(connection) as told:
            assert client.post("/api/entries/", batch, format="json").status_code == 200
        asked_for.append(len(told))
    assert asked_for[0] == asked_for[1]


def test_mail_is_in_the_language_of_who_gets_it(ruled_farm: Farm) -> None:
    User.objects.filter(username="olga").update(email="olga@farm.example", language="es")
    User.objects.filter(username="sam").update(email="sam@farm.example", mailed=True, language="en")
    hours_up(ruled_farm, 2)
    remind(timezone.now())
    sent = {each.to[0].split("@")[0]: " ".join(f"{each.subject} {each.body}".split()) for each in mail.outbox}
    assert "2 overdue" in sent["sam"] and "Clippers, to sterilise" in sent["sam"]
    assert "2 vencid" in sent["olga"] and "Tijeras, " in sent["olga"] and "to sterilise" not in sent["olga"]


def test_a_register_is_in_the_readers_language_and_its_digest_in_none(ruled_farm: Farm, as_: SignIn) -> None:
    """Printed in English, made again in Spanish: the same lines, the same digest, and it agrees with the book."""
    (tag,) = ruled_farm.gear("bag", days_ago=20)
    write(ruled_farm, "handed_out", at(4), tag, crew="red", picker="ana")
    heard: list[Printing] = []
    for language in ("en", "es"):
        with translation.override(language):
            heard.append(
                print_register(REGISTERS["handout"], asked(), "pdf", ruled_farm.users["olga"], timezone.now())
            )
    assert heard[0].digest == heard[1].digest
    texts = []
    for language in ("en", "es"):
        speaks(ruled_farm, "olga", language)
        olga = as_("olga")
        paper = body(olga.get(f"/registers/printings/{heard[0].code}/"))
        texts.append(" ".join(reading.words(paper)))
        verdict = body(olga.get(f"/verify/{heard[0].code}/", {"digest": heard[0].digest})).decode()
        with translation.override(language):
            assert _("This paper agrees with the book.") in verdict
    assert tag in texts[0] and tag in texts[1]
    assert "Picking bag" in texts[0] and "Bolsa de cosecha" in texts[1] and "Picking bag" not in texts[1]


def test_labels_are_in_the_farms_language_whoever_prints_them(farm: Farm, as_: SignIn, settings: Any) -> None:
    (tag,) = farm.gear("bag")
    for farms, own, called in (("en", "es", "Picking bag"), ("es", "en", "Bolsa de cosecha")):
        settings.LANGUAGE_CODE = farms
        speaks(farm, "rosa", own)
        (page,) = reading.words(as_("rosa").get("/labels/", {"tags": tag, "print": "1"}).content)
        assert called in page


def test_another_language_is_another_build_of_the_phones_page(farm: Farm, as_: SignIn) -> None:
    english = as_("sam").get("/sw.js").content.decode()
    speaks(farm, "sam", "es")
    sam = as_("sam")
    answer = sam.get("/sw.js")
    spanish = answer.content.decode()
    assert english != spanish and '"language": "es"' in spanish
    assert sam.get("/orchard/here/").json()["build"] in spanish
    # The worker fetches it as nobody, in that language; the browser remembers it.
    assert Client().get("/sw.js", HTTP_ACCEPT_LANGUAGE="es").content.decode() == spanish
    assert answer.cookies["django_language"].value == "es"
    page = Client().get("/orchard/", HTTP_ACCEPT_LANGUAGE="es")
    assert language_of(page) == "es" and "Cuadrilla" in page.content.decode()
    assert "Accept-Language" in page.headers["Vary"]


def test_the_phones_sheet_is_in_the_language_of_who_asks(ruled_farm: Farm, as_: SignIn) -> None:
    crew = ruled_farm.crews["red"].pk
    speaks(ruled_farm, "sam", "en")
    english = as_("sam").get(f"/api/crews/{crew}/sheet/")
    speaks(ruled_farm, "sam", "es")
    spanish = as_("sam").get(f"/api/crews/{crew}/sheet/", HTTP_IF_NONE_MATCH=english.headers["ETag"])
    assert spanish.status_code == 200
    names = [{kind["name"] for kind in each.json()["kinds"]} for each in (english, spanish)]
    assert "Clippers" in names[0] and "Tijeras" in names[1]
    told, tells = ({k: v for k, v in each.json().items() if k == "rules"} for each in (english, spanish))
    assert told == tells


@pytest.mark.parametrize(
    ("language", "number", "day"),
    [("en", "1234.5", "26 November 2026"), ("es", "1234,5", "26 de noviembre de 2026")],
)
def test_numbers_and_days_are_the_languages_own(language: str, number: str, day: str) -> None:
    """The decimal sign and the months are Django's own (of the CLDR), not ours."""
    with translation.override(language):
        assert number_format(1234.5) == number
        page = Template('{{ n }}|{{ day|date:_("j F Y") }}').render(
            Context({"n": 1234.5, "day": date(2026, 11, 26)})
        )
    assert page == f"{number}|{day}"


def test_who_may_be_spoken_to() -> None:
    assert [code for code, _name in languages.choices()] == [code for code, _name in settings.LANGUAGES]
    assert languages.is_draft("es") and not languages.is_draft("en")


def test_names_stand_where_the_reader_looks_for_them() -> None:
    """As the CLDR has it, which `tests/browser/test_languages.py` asks: in Spanish ñ is a letter after n."""
    names = ["Ñandú", "Zoé", "nube", "Ángel", "Oca", "Nadia", "ana", "Noé"]
    with translation.override("es"):
        assert sorted(names, key=by_name) == ["ana", "Ángel", "Nadia", "Noé", "nube", "Ñandú", "Oca", "Zoé"]
    with translation.override("en"):
        assert sorted(names, key=by_name) == ["ana", "Ángel", "Nadia", "Ñandú", "Noé", "nube", "Oca", "Zoé"]
