"""Reads calendars one after the other into one, as an importing calendar does: by UID, the later in place of the
earlier, and what was cancelled taken out.

Usage: calendar_read.py FILE… Prints an event a line, sorted: UID, start, summary.
"""
import sys

from icalendar import Calendar

events = {}
for path in sys.argv[1:]:
    with open(path, "rb") as file:
        calendar = Calendar.from_ical(file.read())
    assert calendar["VERSION"] == "2.0" and calendar["PRODID"], path
    for event in calendar.walk("VEVENT"):
        assert not event.errors, event.errors
        uid = str(event["UID"])
        before = events.get(uid)
        assert before is None or event["SEQUENCE"] >= before["SEQUENCE"], uid
        assert event["DTSTAMP"].dt.tzinfo is not None, uid
        if "DTEND" in event:
            assert event["DTEND"].dt > event["DTSTART"].dt, uid
        events[uid] = event
for uid, event in sorted(events.items()):
    if event.get("STATUS") != "CANCELLED":
        print(uid, event["DTSTART"].dt.isoformat(), event["SUMMARY"])
