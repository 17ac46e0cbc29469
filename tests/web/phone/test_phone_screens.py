"""Every screen: what it writes down is a record of its kind, within its limits; places by satellite; everybody."""

from __future__ import annotations

import itertools
import math
import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect
from pyproj import Geod

from evenground.basis.observations import RECORD_KINDS
from tests.web.phone.walking import (
    all_on_the_farm,
    entries,
    field,
    fill,
    go,
    keep,
    kept,
    middle,
    open_page,
    stand_at,
    until,
)

pytestmark = pytest.mark.needs_chromium

SCREENS = ("count", "spacing", "depth", "damage", "note", "sown", "load", "weighing", "sample", "stubble")
PAGES = ("", "entries", "phone", *SCREENS)
EARTH = Geod(ellps="WGS84")


def moved(lon: float, lat: float, azimuth: float, metres: float) -> tuple[float, float]:
    """Where one is after some metres; by pyproj's geodesics, which the page's own plane is checked against."""
    there = EARTH.fwd(lon, lat, azimuth, metres)
    return there[0], there[1]


def checked(page, n: int) -> list[dict]:
    """All entries made, each read as a record of its kind with no field unknown to it, and stored by the farm."""
    all_on_the_farm(page, n)
    found = entries(page)
    for entry in found:
        model = RECORD_KINDS[entry["kind"]]
        assert set(entry["fields"]) <= set(model.model_fields), entry
        model.model_validate({**entry["fields"], "id": entry["id"]})
        assert entry["state"] == "stored", entry
    assert len(found) == n
    return [e["fields"] for e in found]


def test_stand_count_row_unit_by_row_unit(farm, phones):
    page = open_page(phones(), farm.address, "count")
    fill(page, strip="8", row_unit="1", lost_crows="2", stage="three_leaves")
    field(page, "length_m").get_by_role("button", name="5 m").tap()
    for _ in range(3):
        field(page, "plants").get_by_role("button", name="one more").tap()
    field(page, "plants").get_by_role("button", name="one less").tap()
    field(page, "late_plants").get_by_role("button", name="one more").tap()
    kept(page)
    assert field(page, "row_unit").locator("input").input_value() == "2", "the next row unit is ready"
    assert field(page, "plants").locator("input").input_value() == ""
    fill(page, plants="37")
    kept(page)
    first, second = checked(page, 2)
    assert (first["row_unit"], first["length_m"], first["plants"], first["late_plants"]) == (1, 5, 2, 1)
    assert (first["lost_crows"], first["stage"], first["strips"]) == (2, "three_leaves", [8])
    assert (second["row_unit"], second["length_m"], second["plants"]) == (2, 5, 37)
    assert "late_plants" not in second, "nobody looked"


def test_spacing_run_of_a_twin_row_typed(farm, phones):
    page = open_page(phones(locale="de-DE"), farm.address, "spacing")
    fill(page, strip="2", row_unit="3")

    def type_in(*readings: str) -> None:
        for reading in readings:
            for sign in reading:
                page.locator(".keys").get_by_role("button", name=sign, exact=True).tap()
            page.get_by_role("button", name="Nächste Pflanze").tap()

    type_in("12,5", "29", "44,5")
    page.get_by_text("Linie 2", exact=True).tap()
    type_in("20", "2")
    expect(page.locator('[data-name="readings"]')).to_contain_text("läuft rückwärts")
    page.get_by_role("button", name="Ziffer löschen").tap()
    type_in("36,5", "36,5")
    page.get_by_role("button", name="Letzte zurücknehmen").tap()
    fill(page, offset_cm="-4,5")
    kept(page, "Auf diesem Telefon gespeichert")
    one, two = checked(page, 2)
    assert (one["readings"], one["line"]) == ([12.5, 29, 44.5], 1)
    assert (two["readings"], two["line"], two["offset_cm"]) == ([20, 36.5], 2, -4.5)
    assert one["run"] == two["run"]
    assert "offset_cm" not in one


def test_spacing_run_tapped_on_the_tape(farm, phones):
    page = open_page(phones(), farm.address, "spacing")
    fill(page, strip="2")
    page.get_by_text("tapped on a tape").tap()

    def tap_at(cm: float) -> None:
        tape = page.locator(".tape")
        tape.scroll_into_view_if_needed()
        box = tape.bounding_box()
        tape.tap(position={"x": box["width"] / 2, "y": box["height"] * cm / 50})

    tap_at(8)
    tap_at(40)
    tap_at(24)
    page.get_by_role("button", name="On 50 cm").tap()
    tap_at(10)
    expect(page.locator(".tally")).to_contain_text("4 plants")
    kept(page)
    (run,) = checked(page, 1)
    assert run["readings"] == pytest.approx([8, 24, 40, 60], abs=1.0)  # a finger on a screen: one grain is 0.5 cm
    assert run["readings"] == sorted(run["readings"])
    assert {"run", "line"}.isdisjoint(run)


def test_depth_stubble_and_note_with_photo(farm, phones, tmp_path):
    from PIL import Image

    page = open_page(phones(), farm.address, "depth")
    fill(page, strip="5", row_unit="4", depth_cm="5,5")
    kept(page)
    go(page, "stubble")
    fill(page, strip="5", height_cm="24", stubs="10")
    kept(page)
    go(page, "note")
    picture = tmp_path / "crop.png"
    Image.new("RGB", (3200, 1200), "green").save(picture)
    fill(page, strip="5", note="leaves rolled")
    field(page, "photo").locator("input").set_input_files(picture)
    expect(page.locator(".photo img")).to_be_visible()
    kept(page)
    depth, stubble, note = checked(page, 3)
    assert (depth["depth_cm"], depth["row_unit"]) == (5.5, 4)
    assert (stubble["height_cm"], stubble["stubs"]) == (24, 10)
    assert (note["event"], note["note"]) == ("other", "leaves rolled [photo]")
    name = entries(page)[2]["id"]
    until(page, "() => !document.querySelector('#state').textContent.includes('photo')")
    (row,) = farm.rows("SELECT content FROM trials_trialfile WHERE path = ?", f"photos/{name}.jpg")
    import io

    assert Image.open(io.BytesIO(row[0])).size == (2560, 960)


def test_as_sown_in_three_taps_a_pass(farm, phones):
    context = phones()
    strip = farm.strips()[3]
    stand_at(context, *middle(strip))
    page = open_page(context, farm.address)
    number, letter = strip["properties"]["strip"], strip["properties"]["method"]
    page.get_by_role("link", name="As sown").tap()  # one
    expect(page.locator('[data-name="strip"] select')).to_have_value(str(number))
    page.get_by_text("(as drawn)").tap()  # two
    kept(page)  # three
    expect(page.locator('[data-name="strip"] select')).to_have_value(str(number))  # one still stands there
    fill(page, strip=str(number), what="not_sown")
    kept(page)
    first, second = checked(page, 2)
    assert (first["event"], first["method"], first["strips"]) == ("sown", letter, [number])
    assert (second["event"], "method" in second) == ("not_sown", False)


def test_loads_weighings_and_samples(farm, phones):
    page = open_page(phones(), farm.address, "load")
    fill(page, strip="7", trailer="big", second="8", split_percent="60", split_off_percent="5")
    kept(page)
    go(page, "load")
    fill(page, strip="9", trailer="small", part="headland")
    kept(page)
    go(page, "weighing")
    field(page, "load").get_by_text("strip 7+8, big").tap()
    fill(page, gross_kg="18.420", scale="bridge")
    keep(page)
    expect(field(page, "gross_kg").locator(".wrong")).to_have_text("18.420 may be two things. Write 18420 or 18.42.")
    fill(page, gross_kg="18 420", tare_kg="19000")
    expect(field(page, "gross_kg")).to_contain_text("read as 18,420 kg")
    keep(page)
    expect(field(page, "gross_kg").locator(".wrong")).to_have_text("Full is not above empty; were the two swapped?")
    fill(page, tare_kg="9300", slip="A 17")
    kept(page)
    go(page, "sample")
    fill(page, strip="7", wet_g="512")
    keep(page)
    expect(field(page, "dry_g").locator(".wrong")).to_have_text("Wet and dry, or the percentage.")
    go(page, "")  # the oven takes a day; what is there stays
    page.get_by_role("link", name="Dry-matter sample strip 7").tap()
    fill(page, dry_g="171", taken="scoop", scoops="6", bags="2", dried="oven")
    kept(page)
    expect(page.locator("main")).not_to_contain_text("Half filled")
    load, other, weighing, sample = checked(page, 4)
    assert (load["strips"], load["split_fraction"], load["split_sd_fraction"], load["order"]) == ([7, 8], 0.6, 0.05, 1)
    assert (other["part"], other["order"]) == ("headland", 2)
    assert (weighing["load"], weighing["gross_kg"], weighing["tare_kg"]) == (entries(page)[0]["id"], 18420, 9300)
    assert (sample["wet_g"], sample["dry_g"], sample["taken"], sample["scoops"]) == (512, 171, "scoop", 6)


def test_damage_walked_round(farm, phones):
    """A patch of 12 m x 5 m in the middle of a strip; the area is checked by pyproj's geodesics."""
    context = phones()
    strip = farm.strips()[4]
    lon, lat = middle(strip)
    ring = strip["geometry"]["coordinates"][0]
    along, _, _ = max((EARTH.inv(*a, *b) for a, b in itertools.pairwise(ring)), key=lambda edge: edge[2])
    start = moved(*moved(lon, lat, along + 180, 6), along - 90, 2.5)
    corners = [start, moved(*start, along, 12)]
    corners += [moved(*corners[1], along + 90, 5), moved(*start, along + 90, 5)]
    stand_at(context, *corners[0], accuracy=3)
    page = open_page(context, farm.address, "damage")
    page.get_by_role("button", name="Start walking round").tap()
    for n, corner in enumerate(corners, 1):
        stand_at(context, *corner, accuracy=3)
        expect(field(page, "walk")).to_contain_text(f"{n} places so far")
    fill(page, cause="boar")
    keep(page)
    expect(field(page, "walk").locator("p.wrong")).to_have_text("Close the patch first.")
    page.get_by_role("button", name="Round: close the patch").tap()
    said = field(page, "walk").inner_text()
    whole = float(re.search(r"The patch has ([\d.]+) m²", said)[1])
    area = abs(EARTH.polygon_area_perimeter(*zip(*corners, strict=True))[0])
    assert whole == pytest.approx(area, abs=0.1)  # it is shown to 0.1 m2; places are kept to 1e-7 degrees, 1 cm
    assert f"strip {strip['properties']['strip']}: " in said
    fill(page, degree_percent="80", by_method="no")
    kept(page)
    (damage,) = checked(page, 1)
    assert damage["outline"].count(";") == 3
    assert (damage["cause"], damage["degree_percent"], damage["by_method"]) == ("boar", 80, "no")
    assert {"length_m", "area_m2", "strips"}.isdisjoint(damage)


def test_damage_by_length(farm, phones):
    page = open_page(phones(), farm.address, "damage")
    fill(page, cause="deer", length_m="14")
    keep(page)
    expect(field(page, "strip").locator("p.wrong")).to_have_text("Pick the strip.")
    fill(page, strip="6")
    kept(page)
    (damage,) = checked(page, 1)
    assert (damage["strips"], damage["length_m"]) == ([6], 14)


def test_the_right_strip_along_the_whole_field(farm, phones):
    context = phones()
    stand_at(context, *middle(farm.strips()[0]))
    page = open_page(context, farm.address)
    for strip in farm.strips():
        stand_at(context, *middle(strip), accuracy=2)
        number = strip["properties"]["strip"]
        expect(page.locator(".place")).to_contain_text(f"You stand in strip {number},")


def test_between_two_strips_when_the_place_is_not_sharp_enough(farm, phones):
    """1 m inside strip 4 beside strip 5: known to 0.5 m it is strip 4, known to 2 m it may be either."""
    context = phones()
    four, five = farm.strips()[3], farm.strips()[4]
    toward, _, apart = EARTH.inv(*middle(four), *middle(five))
    width = four["properties"]["width_m"]
    assert math.isclose(apart, width, rel_tol=0.2), "the two lie side by side"
    at = moved(*middle(four), toward, width / 2 - 1)
    stand_at(context, *at, accuracy=0.5)
    page = open_page(context, farm.address, "depth")
    expect(page.locator(".place")).to_contain_text("You stand in strip 4, 1 m from its edge")
    expect(page.locator("select")).to_have_value("4")
    stand_at(context, *at, accuracy=2)
    expect(page.locator(".place")).to_contain_text("Between strip 4 and 5")
    field(page, "strip").get_by_role("button", name="Strip 5").tap()
    expect(page.locator("select")).to_have_value("5")
    stand_at(context, *at, accuracy=0.5)
    expect(page.locator(".place")).to_contain_text("You stand in strip 4")
    expect(page.locator("select")).to_have_value("5")  # what was picked by hand stays
    stand_at(context, *moved(*at, toward + 180, 3000), accuracy=5)
    expect(page.locator(".place")).to_contain_text("m outside strip")


def test_without_a_place_one_picks_by_hand(farm, phones):
    page = open_page(phones(permissions=[]), farm.address, "depth")
    expect(page.locator(".place")).to_contain_text("Pick the strip by hand")
    field(page, "strip").get_by_role("button", name="the next strip").tap()
    fill(page, depth_cm="4")
    kept(page)
    (depth,) = checked(page, 1)
    assert (depth["strips"], "lon" in depth) == ([1], False)


def test_methods_are_hidden_where_scores_are_taken(farm, phones):
    context = phones()
    stand_at(context, *middle(farm.strips()[0]))
    page = open_page(context, farm.address)
    for where in ("", *(s for s in SCREENS if s != "sown")):
        go(page, where)
        assert not re.search("twin rows, staggered|single rows", page.locator("main").inner_text()), where


FIELDS = """async () => {
  const version = document.querySelector("meta[name=version]").content;
  const [{ SCREENS }, { fieldsOf }, farm, kept] = await Promise.all(
    ["screens.js", "forms.js", "farm.js", "kept.js"].map((name) => import(`/phone/files/${version}/${name}`)));
  const trial = (await farm.knownTrials())[0];
  const out = [];
  for (const spec of Object.values(SCREENS)) {
    const ctx = { trial, leave: [] };
    await spec.prepare?.(ctx);
    for (const { name, type, min, max, above, needed, longest, options } of fieldsOf(spec, {}, ctx)) {
      out.push({ kind: spec.kind, name, type, min, max, above, needed, longest, options: options?.map((o) => o[0]) });
    }
  }
  return out;
}"""


def bounds(model, name: str) -> dict:
    """Limits of a field as the record's JSON Schema has them."""
    schema = model.model_json_schema()["properties"][name]
    return {k: v for part in (schema, *schema.get("anyOf", [])) for k, v in part.items()}


def test_limits_on_the_phone_are_those_of_the_records(farm, phones):
    """So that the phone neither refuses what the farm takes nor keeps what it will not."""
    page = open_page(phones(), farm.address)
    compared = 0
    for f in page.evaluate(FIELDS):
        model = RECORD_KINDS[f["kind"]]
        if f["name"] not in model.model_fields or f["type"] in ("custom", "strip"):
            continue
        said = bounds(model, f["name"])
        if f["type"] in ("number", "count"):
            assert f.get("above") == said.get("exclusiveMinimum"), f
            assert f.get("min") == said.get("minimum"), f
            assert f.get("max") == said.get("maximum"), f
        elif f["type"] in ("text", "long") and f["name"] != "time":
            assert f["longest"] == said["maxLength"], f
        elif f.get("options") and "enum" in said:
            assert set(f["options"]) - {""} == set(said["enum"]) - (
                {said["default"]} if "" in f["options"] else set()
            ), f
        compared += 1
    assert compared > 60


@pytest.mark.parametrize(("scheme", "language"), [("light", "en-GB"), ("dark", "de-DE")])
def test_every_screen_can_be_used_by_everybody(farm, phones, scheme, language):
    """axe-core finds nothing; targets are large enough for gloves; nothing is wider than the screen."""
    context = phones(color_scheme=scheme, locale=language)
    stand_at(context, *middle(farm.strips()[2]))
    page = open_page(context, farm.address)
    go(page, "count")
    fill(page, strip="3", length_m="5", plants="3")
    keep(page)
    all_on_the_farm(page, 1)
    for where in (*PAGES, f"entry/{entries(page)[0]['id']}"):
        go(page, where)
        keep(page) if where in SCREENS else None  # with what is missing said, so that it is looked at too
        for more in page.locator("details:not([open]) > summary").all():
            more.tap()
        if where == "spacing":
            page.locator('[data-name="readings"] input[value="tap"]').check()
        if where == "damage":
            field(page, "walk").get_by_role("button").tap()
        faults = [f"{v['id']}: {v['nodes'][0]['html'][:200]}" for v in Axe().run(page).response["violations"]]
        assert faults == [], where
        small = page.evaluate(
            """() => [...document.querySelectorAll("button, a, select, summary, label.choice, input:not([type=radio])")]
              .filter((e) => e.offsetParent && [e.offsetHeight, e.offsetWidth].some((size) => size < 56))
              .map((e) => e.outerHTML.slice(0, 120))"""
        )
        assert small == [], where
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, where
    assert page.faults == []


def test_the_keyboard_is_enough(farm, phones):
    page = open_page(phones(has_touch=False, is_mobile=False), farm.address, "depth")
    page.locator("select").focus()
    page.keyboard.type("3")
    for _ in range(20):
        page.keyboard.press("Tab")
        if (
            page.evaluate("document.activeElement.closest('[data-name=depth_cm]') && document.activeElement.tagName")
            == "INPUT"
        ):
            break
    page.keyboard.type("4,5")
    page.keyboard.press("Enter")
    expect(page.locator("#news")).to_contain_text("Kept on this phone: Depth reading, strip 3")
    checked(page, 1)
