from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy.dialects import sqlite

from scribeline.notebook.tables import UtcTime, time_from_text, time_text

DIALECT = sqlite.dialect()


def test_a_time_is_written_in_utc_to_the_microsecond() -> None:
    india = timezone(timedelta(hours=5, minutes=30))
    assert time_text(datetime(2026, 11, 25, 15, 45, 0, 7, india)) == "2026-11-25T10:15:00.000007Z"
    assert time_text(datetime(99, 1, 2, tzinfo=UTC)) == "0099-01-02T00:00:00.000000Z"


@settings(deadline=None)
@given(st.datetimes(timezones=st.timezones(), min_value=datetime(2, 1, 1), max_value=datetime(9998, 1, 1)))
def test_a_time_comes_back_as_the_same_moment(moment: datetime) -> None:
    text = UtcTime().process_bind_param(moment, DIALECT)
    back = UtcTime().process_result_value(text, DIALECT)
    assert back is not None
    assert back.timestamp() == moment.timestamp()
    assert back.tzinfo is UTC


@settings(deadline=None)
@given(st.lists(st.datetimes(timezones=st.just(UTC)), min_size=2))
def test_times_sort_as_their_texts(moments: list[datetime]) -> None:
    assert [time_text(moment) for moment in sorted(moments)] == sorted(map(time_text, moments))


def test_a_time_without_a_zone_is_not_guessed() -> None:
    with pytest.raises(ValueError, match="names no time zone"):
        UtcTime().process_bind_param(datetime(2026, 11, 25), DIALECT)


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-25T10:15:00Z",
        "2026-11-25 10:15:00.000000Z",
        "2026-11-25T10:15:00.000000",
        "2026-11-25T10:15:00.000000+01:00",
        "2026-02-30T10:15:00.000000Z",
        "",
    ],
)
def test_a_time_written_otherwise_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"isoformat|out of range|is no time as"):
        time_from_text(text)
