"""The field on pages: a file, typed corners, a walk, a drawing; every way stores a version and loses nothing."""

from __future__ import annotations

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from shapely.geometry import Polygon, mapping

from evenground.basis.field import LocalPlane, geodesic_area_m2
from evenground.web.trials.store import DatabaseStore

PLANE = LocalPlane(10.0, 52.0)
CORNERS = [(0, 0), (400, 0), (400, 300), (0, 300)]


def square(east_m: float = 0.0) -> Polygon:
    return PLANE.to_degrees(Polygon([(x + east_m, y) for x, y in CORNERS]))


def page(trial, path: str = "") -> str:
    return f"/trials/{trial.slug}/field/{path}"


def feature(shape, **properties) -> dict:
    return {"type": "Feature", "properties": properties, "geometry": mapping(shape)}


def collection(*features) -> str:
    return json.dumps({"type": "FeatureCollection", "features": list(features)})


def sent(text: str, name: str = "field.geojson") -> dict:
    return {"file": SimpleUploadedFile(name, text.encode())}


def area_ha(trial) -> float:
    return geodesic_area_m2(DatabaseStore(trial).load().field.boundary) / 1e4


def test_without_a_field_the_page_says_how_to_get_one(browser, new_trial):
    html = browser.get(page(new_trial)).content.decode()
    assert "Where is the field?" in html
    assert "Walk round it" in html
    assert "There is no outline yet" in browser.get(page(new_trial, "outline.svg")).content.decode()


def test_a_file_with_one_outline_is_stored_at_once(browser, new_trial):
    """Source: 400 m x 300 m are 12 ha on the plane, and on the ellipsoid to 1e-6."""
    answer = browser.post(page(new_trial, "upload/"), sent(collection(feature(square(), name="here"))))
    assert answer.status_code == 302
    assert area_ha(new_trial) == pytest.approx(12.0, abs=1e-4)
    html = browser.get(page(new_trial)).content.decode()
    assert "12.00 ha" in html
    assert "400" in html
    drawing = browser.get(page(new_trial, "outline.svg"))
    assert drawing.headers["Content-Type"].startswith("image/svg+xml")
    assert ">50 m<" in drawing.content.decode(), "a scale bar of a round length, at most 120 px"


def test_of_several_outlines_one_chooses(browser, new_trial):
    shapes = collection(feature(square(), name="here"), feature(square(500), name="there"))
    html = browser.post(page(new_trial, "upload/"), sent(shapes)).content.decode()
    assert "here" in html
    assert "there" in html
    assert new_trial.fields.count() == 0
    token = html.split('name="kept" value="')[1].split('"')[0]
    answer = browser.post(page(new_trial, "choose/"), {"kept": token})
    assert answer.status_code == 422, "none chosen"
    assert browser.post(page(new_trial, "choose/"), {"kept": token, "outline": ["1"]}).status_code == 302
    west, _south, _east, _north = DatabaseStore(new_trial).load().field.boundary.bounds
    assert west > square().bounds[2]
    assert browser.post(page(new_trial, "choose/"), {"kept": token, "outline": ["0", "1"]}).status_code == 302
    assert area_ha(new_trial) == pytest.approx(24.0, abs=1e-3)
    assert new_trial.fields.count() == 2, "the version before stays"


def test_another_trial_cannot_fetch_the_file_that_waits(browser, new_trial, demo_trial):
    shapes = collection(feature(square(), name="here"), feature(square(500), name="there"))
    html = browser.post(page(new_trial, "upload/"), sent(shapes)).content.decode()
    token = html.split('name="kept" value="')[1].split('"')[0]
    before = demo_trial.fields.count()
    assert browser.post(page(demo_trial, "choose/"), {"kept": token, "outline": ["0"]}).status_code == 422
    assert demo_trial.fields.count() == before


def test_what_is_wrong_with_a_file_is_said_and_nothing_stored(browser, new_trial):
    for name, text in {
        "a.kml": "<kml><!DOCTYPE x></kml>",
        "b.txt": "hello",
        "c.geojson": '{"type": "Feature"}',
    }.items():
        answer = browser.post(page(new_trial, "upload/"), sent(text, name))
        assert answer.status_code == 422, name
        assert 'role="alert"' in answer.content.decode()
    assert browser.post(page(new_trial, "upload/")).status_code == 422
    assert new_trial.fields.count() == 0


def test_a_doubtful_place_is_asked_about_once(browser, new_trial):
    """Longitude and latitude swapped put a European field into Arabia; a farmer there says that it is right."""
    there = LocalPlane(52.0, 10.0).to_degrees(Polygon(CORNERS))
    html = browser.post(page(new_trial, "upload/"), sent(collection(feature(there)))).content.decode()
    assert "swapped" in html
    assert "I have looked at the place" in html
    token = html.split('name="kept" value="')[1].split('"')[0]
    sure = {"kept": token, "outline": ["0"], "position_checked": "1"}
    assert browser.post(page(new_trial, "choose/"), sure).status_code == 302


@pytest.mark.parametrize(
    ("order", "text"),
    [
        ("lat", "52.0, 10.0\n52.0, 10.005\n52.003, 10.005\n52.003, 10.0"),
        ("lat", "52,0; 10,0\n52,0; 10,005\n52,003; 10,005\n\n52,003 10,0"),
        ("lon", "10.0 52.0\n10.005 52.0\n10.005 52.003\n10.0 52.003\n"),
    ],
)
def test_typed_corners(browser, new_trial, order, text):
    """Source: a rectangle of 0.005 by 0.003 degrees at 52 degrees north, by PROJ's geodesic area."""
    import pyproj

    ring = [(10.0, 52.0), (10.005, 52.0), (10.005, 52.003), (10.0, 52.003)]
    wanted = abs(pyproj.Geod(ellps="WGS84").polygon_area_perimeter(*zip(*ring, strict=True))[0]) / 1e4
    assert browser.post(page(new_trial, "corners/"), {"corners": text, "order": order}).status_code == 302
    assert area_ha(new_trial) == pytest.approx(wanted, rel=1e-9)


def test_wrong_corners_name_their_lines_and_stay_in_the_form(browser, new_trial):
    text = "52.0, 10.0\nby the oak\n52.003, 10.005\nat the ditch"
    answer = browser.post(page(new_trial, "corners/"), {"corners": text, "order": "lat"})
    html = answer.content.decode()
    assert answer.status_code == 422
    assert "line 2" in html
    assert "line 4" in html
    assert "by the oak" in html.split("<textarea")[1]


def walk() -> str:
    """Places every 5 m along the square, 4 m accurate."""
    ring = Polygon(CORNERS).exterior
    points = [PLANE.to_degrees(ring.interpolate(m)) for m in range(0, int(ring.length), 5)]
    return json.dumps([[p.x, p.y, 4.0] for p in points])


def test_a_walk_is_shown_before_it_is_stored(browser, new_trial):
    answer = browser.post(page(new_trial, "walked/"), {"places": walk()})
    html = answer.content.decode()
    assert "As walked: 12.00 ha" in html
    assert "about 4 m" in html
    assert "<svg" in html
    assert "style=" not in html
    assert new_trial.fields.count() == 0
    assert browser.post(page(new_trial, "walked/"), {"places": walk(), "store": "1"}).status_code == 302
    assert area_ha(new_trial) == pytest.approx(12.0, abs=0.01)


@pytest.mark.parametrize("places", ["", "[]", "nonsense", "{}", "[[1]]", '[["a", 1, 2]]', "[[1, 2, NaN]]", "[" * 5000])
def test_no_walk(browser, new_trial, places):
    answer = browser.post(page(new_trial, "walked/"), {"places": places, "store": "1"})
    assert answer.status_code == 422
    assert new_trial.fields.count() == 0


def test_a_drawing_keeps_what_it_does_not_know(browser, new_trial):
    inner = PLANE.to_degrees(Polygon([(50, 50), (60, 50), (60, 60), (50, 60)]))
    heap = PLANE.to_degrees(Polygon([(150, 50), (170, 50), (170, 60), (150, 60)]))
    drawn = collection(
        feature(square(), role="boundary", mine="kept"),
        feature(inner, role="obstacle"),
        feature(heap, role="history", kind="heaps"),
    )
    assert browser.post(page(new_trial, "save/"), {"features": drawn}).status_code == 302
    stored = DatabaseStore(new_trial).load()
    assert stored.field.obstacles.area > 0
    assert stored.plan.history.heaps == "drawn", "what is drawn answers the question of the field's history"
    assert '"mine": "kept"' in DatabaseStore(new_trial).field_text()
    html = browser.get(page(new_trial)).content.decode()
    assert "Obstacle" in html
    assert "old heaps" in html
    read = browser.get(page(new_trial, "features.json")).json()
    assert [f["properties"]["role"] for f in read["features"]] == ["boundary", "obstacle", "history"]


def test_a_new_outline_keeps_the_obstacles(browser, new_trial):
    inner = PLANE.to_degrees(Polygon([(50, 50), (60, 50), (60, 60), (50, 60)]))
    drawn = collection(feature(square(), role="boundary"), feature(inner, role="obstacle"))
    browser.post(page(new_trial, "save/"), {"features": drawn})
    browser.post(page(new_trial, "upload/"), sent(collection(feature(square().buffer(0.0001)))))
    assert DatabaseStore(new_trial).load().field.obstacles.area > 0


def test_a_wrong_drawing_is_given_back_to_be_mended(browser, new_trial):
    bow = Polygon([(10, 52), (10.01, 52.01), (10.01, 52), (10, 52.01)])
    answer = browser.post(page(new_trial, "save/"), {"features": collection(feature(bow, role="boundary"))})
    html = answer.content.decode()
    assert answer.status_code == 422
    assert "crosses itself" in html
    assert "10.01" in html.split('id="features"')[1], "the drawing is still in the page"
    assert browser.post(page(new_trial, "save/"), {"features": "not a drawing"}).status_code == 422


def test_nothing_is_fetched_unless_an_address_is_set(browser, new_trial):
    address = "https://tiles.example/{z}/{x}/{y}.png"
    policy = browser.get(page(new_trial, "draw/")).headers["Content-Security-Policy"]
    assert "http" not in policy
    browser.post(page(new_trial, "tiles/"), {"address": address, "thanks": "<b>us</b>"})
    answer = browser.get(page(new_trial, "draw/"))
    assert "img-src 'self' data: blob: https://tiles.example;" in answer.headers["Content-Security-Policy"]
    assert "&lt;b&gt;us" in answer.content.decode()
    assert "http" not in browser.get(page(new_trial)).headers["Content-Security-Policy"], "only the map may"
    browser.post(page(new_trial, "tiles/"), {"address": ""})
    assert "http" not in browser.get(page(new_trial, "draw/")).headers["Content-Security-Policy"]


@pytest.mark.parametrize(
    "address",
    [
        "javascript:alert(1)//{z}{x}{y}",
        "https://tiles.example/map.png",
        "https://a.example; script-src *//{z}/{x}/{y}",
        "https://a.example 'unsafe-inline'/{z}/{x}/{y}.png",
        "https://user@tiles.example/{z}/{x}/{y}.png",
        "//tiles.example/{z}/{x}/{y}.png",
        "https://tiles.example\r\nSet-Cookie: a=b/{z}/{x}/{y}",
    ],
)
def test_an_address_that_is_none_changes_nothing(browser, new_trial, address):
    assert browser.post(page(new_trial, "tiles/"), {"address": address}).status_code == 422
    assert "http" not in browser.get(page(new_trial, "draw/")).headers["Content-Security-Policy"]


def test_after_the_draw_the_strips_stay(browser, demo_trial):
    before = DatabaseStore(demo_trial).load().draw
    assert "The strips are drawn" in browser.get(page(demo_trial)).content.decode()
    field = DatabaseStore(demo_trial).load().field
    browser.post(page(demo_trial, "upload/"), sent(collection(feature(field.boundary.buffer(0.0002)))))
    assert DatabaseStore(demo_trial).load().draw == before
