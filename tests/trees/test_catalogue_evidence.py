"""What is called published can be read where it was published, not where it is told."""

from urllib.parse import urlparse

from tests.trees.test_catalogue import EVERY_FACT, facts, named

# Parts of addresses of forums, blogs, wikis, shops and the trade's own pages.
TOLD_THERE = (
    "forum",
    "bonsai",
    "blog",
    "wiki",
    "gardenology",
    "gardenguides",
    "gardentips",
    "landscapedesign",
    "arborist.com",
    "nursery",
    "seeds",
    "sheffields",
    "annuals",
    "coniferkingdom",
    "servescape",
    "toptropicals",
    "daleysfruit",
    "growingfruit",
    "treehelp",
    "plantstogrow",
    "leaflibrary",
    "worldplants",
    "horticopia",
    "tridge",
    "ireading",
    "98905",
)
WORDS = (
    "forum",
    "blog",
    "merchant",
    "shop",
    "nursery table",
    "nursery species page",
    "trade magazine",
    "trade growing",
    "web article",
    "gardening article",
    "garden writer",
    "student",
    "second-hand",
    "quoted",
    "not seen",
)


def host(fact: dict[str, str]) -> str:
    return urlparse(fact["address"]).netloc.lower()


def test_no_forum_blog_or_shop_publishes():
    published = [f for f in EVERY_FACT if f["kind"] == "published"]
    assert len(published) > 500
    told = [
        named(fact)
        for fact in published
        if any(part in host(fact) for part in TOLD_THERE)
        or any(word in fact["source"].lower() for word in WORDS)
        or "itself not seen" in fact["qualifier"]
    ]
    assert told == []


def test_what_is_quoted_in_a_forum_says_so_and_warns_of_nothing():
    forums = ("forum", "bonsainut", "growingfruit")
    quoted = [f for f in EVERY_FACT if any(part in host(f) for part in forums)]
    assert quoted
    for fact in quoted:
        assert fact["kind"] == "common practice", named(fact)
        assert fact["usable_as_limit"] != "yes", named(fact)
        assert "forum" in fact["source"], named(fact)


def test_no_growers_recollection_stands_first_for_the_roots_of_japanese_maple():
    kills = facts("Acer palmatum", "root_kill_temp")
    assert [f["value"] for f in kills] == ["-10"]
    (told,) = facts("Acer palmatum", "grower_observation")
    assert (told["value"], told["kind"]) == ("-14", "common practice")


def test_what_most_seedlings_survived_is_no_temperature_that_kills():
    survived = [
        f
        for f in EVERY_FACT
        if f["attribute"] == "root_kill_temp" and "survived" in f["qualifier"]
    ]
    assert {f["taxon"] for f in survived} == {"Picea abies", "Pinus sylvestris"}
    for fact in survived:
        assert fact["usable_as_limit"] == "no", named(fact)
        assert "survived" in fact["limit_reason"]


def test_a_figure_read_from_an_order_is_called_our_own_reading():
    read = [f for f in EVERY_FACT if f["value"] == "between 500 and 1100"]
    assert {f["taxon"] for f in read} == {"Betula papyrifera", "Pinus banksiana"}
    assert {f["kind"] for f in read} == {"computed here"}
    assert all("own reading" in f["source"] for f in read)
