"""A reminder as it arrived, read back with the standard library and held against the RFCs.

Beside each check stands where the rule comes from. RFC 8058 was read in quotations of its section
3.1 and in its front matter; the other RFCs are quoted from memory.
"""

import email
import email.policy
import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from email.header import decode_header, make_header
from email.message import EmailMessage
from email.utils import parseaddr
from urllib.parse import urlsplit

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from shop.outbox.message import build_message, one_line
from shop.outbox.models import OutgoingMail
from shop.reminders.services import deliver_round, run_tick
from tests.factories.installs import ReverificationFactory
from tests.factories.reminders import ReverifyRuleFactory, RuleFactory, a_case
from tests.smtp import mail_server

DAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 17, tzinfo=UTC)
NAME = "Zoë d'Ångström-Ñandú de la Peña y Łukasiewicz-Żółkiewska von und zu Übersee-Köln"


@pytest.fixture
def arrived(db, settings) -> Iterator[dict[str, EmailMessage]]:
    """One service reminder and one safety notice, by category, as a mail server took them."""
    settings.SHOP_URL = "https://shop.example"
    settings.PULLPIN_MAIL, settings.EMAIL_HOST = "smtp", "127.0.0.1"
    RuleFactory()
    ReverifyRuleFactory()
    case = a_case(name=NAME)
    ReverificationFactory(vehicle=case.vehicle)
    case.refresh(DAY)
    run_tick(now=NOW, today=DAY)
    with mail_server() as (sink, port):
        settings.EMAIL_PORT = port
        deliver_round(now=NOW)
        read = [email.message_from_bytes(raw, policy=email.policy.default) for raw in sink.raw]
        yield {str(m["List-Id"]).partition("<")[2].split(".")[0]: m for m in read}


@pytest.fixture
def reminder(arrived) -> EmailMessage:
    return arrived["service"]


def test_made_by_a_machine(arrived):
    """RFC 3834 section 5: automatic mail says auto-generated, so that no robot answers it."""
    assert {m["Auto-Submitted"] for m in arrived.values()} == {"auto-generated"}


def test_identity_date_and_sender(arrived):
    """RFC 5322 section 3.6: exactly one From, Date and (should be) Message-ID, and one To."""
    for message in arrived.values():
        for header in ("From", "To", "Date", "Message-ID", "Subject", "Reply-To"):
            assert len(message.get_all(header)) == 1, header
        assert NOW <= message["Date"].datetime < NOW + timedelta(minutes=1)
        assert re.fullmatch(r"<[^<>@\s]+@quillcreek\.example>", message["Message-ID"])
        assert message["From"].addresses[0].addr_spec == "desk@quillcreek.example"
        assert message["Reply-To"].addresses[0].addr_spec == "desk@quillcreek.example"
    ids = {m["Message-ID"] for m in arrived.values()}
    assert ids == set(OutgoingMail.objects.values_list("message_id", flat=True))


def test_lines_are_short_enough(arrived):
    """RFC 5322 section 2.1.1: a line has at most 998 characters besides the line end."""
    for message in arrived.values():
        assert max(len(line) for line in message.as_bytes().splitlines()) <= 998


def test_which_list(reminder):
    """RFC 2919 section 2: an identifier in angle brackets, a name under a domain of ours."""
    assert reminder["List-Id"] == '"Quill Creek Tow & Coach" <service.quillcreek.example>'


def test_the_ways_out(reminder):
    """RFC 2369 section 2: addresses in angle brackets, split by commas; 3.2: List-Unsubscribe.

    RFC 8058 section 3.1: one of them is https.
    """
    (header,) = reminder.get_all("List-Unsubscribe")
    web, mail = re.fullmatch(r"<([^<>\s]+)>, <([^<>\s]+)>", header).groups()
    assert urlsplit(web)[:2] == ("https", "shop.example")
    assert (urlsplit(mail).scheme, urlsplit(mail).path) == ("mailto", "desk@quillcreek.example")


def test_one_click(reminder):
    """RFC 8058 section 3.1: List-Unsubscribe-Post holds just List-Unsubscribe=One-Click."""
    assert reminder.get_all("List-Unsubscribe-Post") == ["List-Unsubscribe=One-Click"]


def test_the_endpoint_of_the_header(reminder, settings):
    """RFC 8058: looking does nothing; a POST without cookies acts and is never redirected."""
    url = urlsplit(reminder["List-Unsubscribe"].partition(">")[0].lstrip("<")).path
    client = Client(enforce_csrf_checks=True)
    customer = OutgoingMail.objects.filter(category="service").get().customer
    assert client.get(url, secure=True).status_code == 200
    assert not customer.consents.exists()
    response = client.post(url, {"List-Unsubscribe": "One-Click"}, secure=True)
    assert (response.status_code, response.headers.get("Location")) == (200, None)
    assert customer.consents.get().allowed is False


def test_safety_notices_promise_no_way_out(arrived):
    """15 USC 7702(17), from memory: safety information on something bought is no advertising."""
    assert "List-Unsubscribe" not in arrived["safety"]
    assert "List-Unsubscribe-Post" not in arrived["safety"]


def test_text_first_then_html(arrived):
    """RFC 2046 section 5.1.4: the plainest part of multipart/alternative comes first."""
    for message in arrived.values():
        assert message.get_content_type() == "multipart/alternative"
        kinds = [part.get_content_type() for part in message.iter_parts()]
        assert kinds == ["text/plain", "text/html"]
        for part in message.iter_parts():
            assert part.get_content_charset() == "utf-8"
            assert "Larkspur" in part.get_content()


def test_a_postal_address_in_the_foot(arrived, settings):
    """16 CFR 316 (commercial mail names a postal address), read in copies of the FTC's text."""
    for message in arrived.values():
        for part in message.iter_parts():
            assert settings.SHOP_POSTAL_ADDRESS in part.get_content().replace("\r\n", " ")


def test_a_long_accented_name_arrives_whole(reminder):
    """RFC 2047 section 6.2: white space between two encoded words is not part of the text.

    Read with the older of the two readers of the standard library: the newer one of Python 3.11
    keeps that white space inside names.
    """
    raw = email.message_from_bytes(reminder.as_bytes())["To"]
    name, address = parseaddr(re.sub(r"\r?\n", "", raw))
    assert (str(make_header(decode_header(name))), address) == (NAME, "wren@mail.example")


@given(
    subject=st.text(st.characters(exclude_categories=["Cs"]), max_size=250),
    name=st.text(st.sampled_from("abcéñü'-\".,()<>\\ @=?_İ李\r\n\t\x00"), max_size=90),
)
def test_whatever_is_typed_becomes_two_headers_and_nothing_else(subject, name):
    """RFC 5322 and 2047: names and subjects of any characters read back as they were cleaned."""
    subject, name = one_line(subject), one_line(name)
    mail = OutgoingMail(
        to_address="wren@mail.example",
        to_name=name,
        subject=subject,
        text="x",
        message_id="<1@quillcreek.example>",
        headers={"Auto-Submitted": "auto-generated"},
    )
    read = email.message_from_bytes(build_message(mail, at=NOW).as_bytes())
    assert sorted(read.keys()) == [
        "Auto-Submitted",
        "Content-Transfer-Encoding",
        "Content-Type",
        "Date",
        "From",
        "MIME-Version",
        "Message-ID",
        "Subject",
        "To",
    ]
    assert str(make_header(decode_header(read["Subject"] or ""))) == subject
    shown, address = parseaddr(re.sub(r"\r?\n", "", read["To"]))
    assert address == "wren@mail.example"
    assert str(make_header(decode_header(shown))) == name
