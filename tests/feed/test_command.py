"""The command that writes a person's calendar into a file."""

import json

import pytest
from django.core.management import CommandError, call_command

from tests import make
from tests.feed.reading import read
from wintering.care.models import CalendarItem, FeedToken
from wintering.care.services.feeds import open_feed, revoke_feed

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _story(now, keeper, stand):
    stand("N1-01f")


def run(capsys, *arguments):
    call_command("feed", *arguments, "--format", "json")
    return json.loads(capsys.readouterr().out)


def test_it_tells_file_and_events(tmp_path, capsys):
    path = tmp_path / "hana.ics"
    assert run(capsys, "hana", "-o", str(path)) == {"file": str(path), "events": 1}
    [event] = read(path.read_bytes()).named("VEVENT")
    assert event.text("SUMMARY") == "Check moisture: Long Frame, 1 tree"


def test_the_subscription_is_made_without_a_link(tmp_path, capsys):
    run(capsys, "hana", "-o", str(tmp_path / "hana.ics"))
    assert FeedToken.objects.get().token_hash is None


def test_it_writes_what_the_link_serves(tmp_path, capsys, client, keeper):
    _, secret = open_feed(user=keeper, by=keeper)
    path = tmp_path / "hana.ics"
    run(capsys, "hana", "-o", str(path))
    assert path.read_bytes() == client.get(f"/calendar/{secret}.ics").content


def test_no_secret_is_printed(tmp_path, capsys, keeper):
    _, secret = open_feed(user=keeper, by=keeper)
    call_command("feed", "hana", "-o", str(tmp_path / "hana.ics"))
    said = capsys.readouterr()
    assert "hana.ics: 1 event\n" in said.out
    assert secret not in said.out + said.err


def test_running_it_again_changes_nothing(tmp_path, capsys):
    path = tmp_path / "hana.ics"
    run(capsys, "hana", "-o", str(path))
    before = path.read_bytes()
    run(capsys, "hana", "-o", str(path))
    assert path.read_bytes() == before
    assert FeedToken.objects.count() == 1


def test_after_revoking_it_opens_another(tmp_path, capsys, keeper):
    feed, _ = open_feed(user=keeper, by=keeper)
    revoke_feed(feed=feed, by=keeper)
    run(capsys, "hana", "-o", str(tmp_path / "hana.ics"))
    assert FeedToken.objects.filter(revoked_at=None).get() != feed


@pytest.mark.parametrize(
    ("user", "file", "said"),
    [
        ("nobody", "x.ics", "Nobody signs in as 'nobody'."),
        ("gone", "x.ics", "no longer active"),
        ("hana", "no/such/x.ics", "cannot be written: No such file"),
    ],
)
def test_it_refuses_in_one_line_and_changes_nothing(
    tmp_path, monkeypatch, user, file, said
):
    make.user("helper", username="gone", is_active=False)
    monkeypatch.chdir(tmp_path)
    with pytest.raises(CommandError) as refusal:
        call_command("feed", user, "-o", file)
    assert said in str(refusal.value)
    assert "\n" not in str(refusal.value)
    assert FeedToken.objects.count() == CalendarItem.objects.count() == 0
    assert list(tmp_path.iterdir()) == []
