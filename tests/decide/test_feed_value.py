import pytest

from evenground.decide.feed_value import (
    BoughtFeed,
    buyers_limit,
    dry_matter_value,
    price_at_dry_matter,
    sellers_limit,
    silage_value,
    silage_worth,
)

# North Dakota State University Extension EC1343: maize 5.50 a bushel (56 lb) at 13 % moisture, hay 90 a short ton at
# 10 %; silage at 35 % dry matter, 700 lb in a short ton. Unrounded 57.011, 46.006, 35.00; the page rounds each part up
# and prints 57.02 and 46.01.
GRAIN = dry_matter_value(5.50, 56 * 0.87)
HAY = dry_matter_value(90.0, 2000 * 0.90)


def test_parts_of_the_silage_price():
    assert pytest.approx(0.1129, abs=0.00005) == GRAIN
    assert pytest.approx(0.05, abs=1e-12) == HAY


@pytest.mark.parametrize(
    ("share", "value", "printed"), [(0.5, 57.011, 57.02), (0.25, 46.006, 46.01), (0.0, 35.0, 35.0)]
)
def test_silage_value(share, value, printed):
    got = silage_value(700.0, share, GRAIN, HAY)
    assert got == pytest.approx(value, abs=0.0006)
    assert got == pytest.approx(printed, abs=0.011)


@pytest.mark.parametrize("share", [-0.1, 1.1, float("nan")])
def test_a_share_is_a_share(share):
    with pytest.raises(ValueError, match="between 0 and 1"):
        silage_value(700.0, share, GRAIN, HAY)


@pytest.mark.parametrize(("dm", "price"), [(28.0, 70.0), (30.0, 75.0), (32.0, 80.0)])
def test_price_follows_dry_matter(dm, price):
    # University of California Cooperative Extension: 75 at 30 % dry matter is 70.00 at 28 % and 80.00 at 32 %; exact
    assert price_at_dry_matter(75.0, dm, 30.0) == pytest.approx(price, rel=1e-12)


def test_price_at_another_moisture():
    # Iowa State University A1-65: x (100 - m) / 35 for silage priced at 65 % moisture
    assert price_at_dry_matter(40.0, 100 - 70.0, 35.0) == pytest.approx(40.0 * 30 / 35)


def test_bushels_in_a_field_of_silage():
    # same leaflet: 1 bu stands for 0.135 short tons, 170 bu for 22.95; the price of a ton follows the dry matter in it
    assert dry_matter_value(22.95, 170) == pytest.approx(0.135)


def test_no_dry_matter_no_price():
    with pytest.raises(ValueError, match="above 0"):
        dry_matter_value(10.0, 0.0)


def test_limits_of_buyer_and_seller_of_drought_maize():
    # Aberdeen News, 24 August 2012, all numbers printed: buyer 55 x 0.9 - 60 / 5 = 37.50 a ton; nutrients 12 lb N at
    # 0.60, 4 lb P at 0.55, 12 lb K at 0.55 = 16 a ton ; seller (37 bu x 6 + 5 t x 16 - 28) / 5 = 54.80.
    assert buyers_limit(55.0, 0.1, 60.0 / 5.0) == pytest.approx(37.50)
    nutrients = 12 * 0.60 + 4 * 0.55 + 12 * 0.55
    assert nutrients == pytest.approx(16.00)
    seller = sellers_limit(37 * 6.0, nutrients, 28.0, 5.0)
    assert seller == pytest.approx(54.80)
    assert seller * 5 == pytest.approx(274.0)  # per acre, as printed
    with pytest.raises(ValueError, match="between 0 and 1"):
        buyers_limit(55.0, 1.1, 12.0)
    with pytest.raises(ValueError, match="above 0"):
        sellers_limit(222.0, 16.0, 28.0, 0.0)


@pytest.mark.parametrize(("share", "printed"), [(0.5, 57.02), (0.25, 46.01), (0.0, 35.00)])
def test_worth_of_silage_from_prices_as_bought(share, printed):
    """North Dakota State University EC1343: $5.50 a bushel at 13 %, hay $90 a ton at 10 %, silage at 35 %."""
    got = silage_worth(BoughtFeed(5.50 / 56 * 2000, 87.0), BoughtFeed(90.0, 90.0), share, 35.0)
    assert got.per_t_fed == pytest.approx(printed, abs=0.011)  # the source rounds each part up to a cent
    assert got.grain + got.rough == pytest.approx(got.per_t_dry)
    assert got.standing_per_t_fed == got.per_t_fed


def test_worth_before_it_is_cut_is_the_buyers_limit():
    """The same drought example: feed worth 55 a ton as fed, a tenth lost, 60 for 5 tons to bring in."""
    got = silage_worth(BoughtFeed(0.0, 87.0), BoughtFeed(55.0, 35.0), 0.0, 35.0, 0.1, 60.0 / 5.0)
    assert got.per_t_fed == pytest.approx(55.0)
    assert got.standing_per_t_fed == pytest.approx(37.50)
    assert got.standing_per_t_dry == pytest.approx(37.50 / 0.35)
