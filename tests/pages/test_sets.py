"""Packing sets in the evening."""

from django.test import Client

from equipment.actions.make_tags import make_set_tags
from equipment.domain import codes
from equipment.models import ItemState
from tests.cast import Farm


def as_rosa(farm: Farm) -> Client:
    client = Client()
    client.force_login(farm.users["rosa"], backend="crews.signing_in.RoleBackend")
    return client


def test_pieces_are_packed_by_scan_and_a_bad_scan_leaves_the_rest(farm: Farm) -> None:
    (crate,) = make_set_tags(1)
    bag, clippers, out = farm.gear("bag") + farm.gear("clippers") + farm.gear("goggles")
    pen = farm.pen()
    item = ItemState.objects.get(tag=out).item_id
    pen.record([pen.draft("handed_out", item=item, crew=farm.crews["red"].pk)])
    unknown = codes.make("BG", 999)
    page = as_rosa(farm).post(
        f"/sets/{crate}/", {"tags": f"{bag} {clippers.lower()} {unknown} {out}"}, follow=True
    )
    words = page.content.decode()
    assert "2 pieces are packed" in words
    assert unknown in words and "already out" in words
    assert set(ItemState.objects.filter(packed_in=crate).values_list("tag", flat=True)) == {bag, clippers}


def test_a_piece_is_taken_out_again(farm: Farm) -> None:
    (crate,) = make_set_tags(1)
    (bag,) = farm.gear("bag")
    rosa = as_rosa(farm)
    rosa.post(f"/sets/{crate}/", {"tags": bag})
    rosa.post(f"/sets/{crate}/take-out/{bag}/")
    assert ItemState.objects.get(tag=bag).packed_in_id is None
    assert "This set is empty" in rosa.get(f"/sets/{crate}/").content.decode()


def test_a_scanned_tag_opens_its_set(farm: Farm) -> None:
    (crate,) = make_set_tags(1)
    rosa = as_rosa(farm)
    assert rosa.get("/sets/", {"scan": crate.lower()})["Location"] == f"/sets/{crate}/"
    assert "is not a set" in rosa.get("/sets/", {"scan": codes.make("BG", 1)}, follow=True).content.decode()
    assert rosa.get("/sets/ST9999X/").status_code == 404
