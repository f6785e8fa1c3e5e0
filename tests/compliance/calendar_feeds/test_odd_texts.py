"""Whatever a name or a reason holds arrives in a calendar program as it is, by RFC 5545, 3.1 and 3.3.11.

The sections are recalled from memory.
"""

import datetime
import unicodedata

from hypothesis import example, given, settings
from hypothesis import strategies as st

from compliance.models import CalendarEntry
from compliance.selectors.owed import Owed
from compliance.services.calendar_feeds.writing import FeedHead, calendar_text
from tests.compliance.calendar_feeds.reading import parsed

DAY = datetime.date(2028, 2, 29)
HEAD = FeedHead("Ash & Larch", 7, "Tamsin Okafor", "https://portal.example.org", ("jobs.add_serviceevent",))
LINE_ENDS = ("Cc", "Zl", "Zp")

odd = st.lists(
    st.one_of(
        st.text(st.characters(exclude_categories=["Cs"])),
        st.sampled_from(
            ["\\", "\\N", "\\n", "\\,", ";", ",", ":", '"', "\r\n", "\n", "BEGIN:VEVENT", "é" * 80, "🧊" * 40]
        ),
    ),
    max_size=6,
).map("".join)


def _written(place: str, because: str) -> bytes:
    item = Owed(
        key="7:us-federal-hfc:repair:2028-01-30:1",
        kind="repair",
        name="Leak repair",
        to_do="Repair.",
        due_on=DAY,
        today=DAY,
        place=place,
        location=place,
        facts=(("Appliance", "Rack"), ("Site", place), ("Customer", "Larkspur")),
        because=because,
        rule="US federal",
        source="US federal, 40 CFR 84.106(d)",
        met_by="A repair.",
        page="/obligations/1/",
        form="/appliances/1/events/add/",
        form_name="File it",
        form_permission="jobs.add_serviceevent",
    )
    changed_at = datetime.datetime(2028, 2, 1, tzinfo=datetime.UTC)
    entry = CalendarEntry(owed_key=item.key, due_on=DAY, revision=3, changed_at=changed_at)
    return calendar_text(HEAD, [item], {item.key: entry})


def _words(text: str) -> list[str]:
    return "".join(" " if unicodedata.category(char) in LINE_ENDS else char for char in text).split()


@given(odd, odd)
@example("C:\\North\\new", "a\\\\Nb\\nc")
@example("Zoë’s, “Ice”; Söhne", "12 lb; 100 lb, 12 %")
def test_any_text_arrives(place, because):
    (event,) = parsed(_written(place, because)).vevent_list

    assert event.summary.value.split() == ["Leak", "repair:", *_words(place)]
    # A place without a word is no property at all.
    assert [row.value.split() for row in event.contents.get("location", [])] == [_words(place)][
        : bool(_words(place))
    ]
    assert _words(event.description.value.partition("\nWhy\n")[2]) == _words(
        because + "\nUS federal, 40 CFR 84.106(d)\n\nWhat settles it\nA repair.\n\n"
        "File it: https://portal.example.org/appliances/1/events/add/\n\n"
        "The whole case: https://portal.example.org/obligations/1/\n\n"
        "It informs; it gives no legal advice. Local codes and licensed practice govern the work."
    )
    assert event.url.value == "https://portal.example.org/obligations/1/"


@settings(max_examples=40)
@given(st.text(st.characters(exclude_categories=["Cs", *LINE_ENDS]), min_size=1))
def test_a_reason_without_line_ends_arrives_to_the_letter(because):
    (event,) = parsed(_written("Rack", because)).vevent_list

    assert f"\nWhy\n{because}\nUS federal, " in event.description.value


@given(odd, odd)
def test_lines_are_folded_at_75_octets_between_characters_and_end_in_crlf(place, because):
    text = _written(place, because)

    assert text.endswith(b"END:VCALENDAR\r\n")
    lines = text.split(b"\r\n")[:-1]
    assert max(len(line) for line in lines) <= 75
    for line in lines:
        assert not set(line) & {*range(9), *range(10, 32), 127}
        # No character is torn in two.
        line.decode()
