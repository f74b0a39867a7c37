//! The calendar of a shop: its jobs, and by when to wash and to order, as a file for any calendar.
//!
//! It serves `job list --ics`. Format: iCalendar (RFC 5545). An event keeps its UID, so that reading a later
//! file moves it in place of adding another; a job that was called off is sent as cancelled.

use fettlebook_contract::v1::{DueOrder, Job, JobState, SoiledKit};
use icalendar::{Calendar, Component as _, Event, EventLike as _, EventStatus, Property};
use jiff::civil::Date;
use prost_types::Timestamp;

use crate::render::screen::several;
use crate::render::tags;

/// Who wrote the file.
const PRODUCT: &str = "-//fettlebook//fettle//EN";

/// What the calendar is made of.
#[derive(Debug, Default)]
pub(crate) struct Diary<'a> {
    /// Id of the book.
    pub(crate) book: &'a str,
    /// Number of the book's last entry.
    pub(crate) head_seq: i64,
    /// The moment it is true of, s.
    pub(crate) as_of_s: i64,
    /// That moment's day where the person is.
    pub(crate) today: Date,
    /// Jobs, each with the time that it is planned to take on each of two days, s; nothing where it cannot be
    /// planned.
    pub(crate) jobs: Vec<(&'a Job, Option<[i64; 2]>)>,
    /// What is soiled.
    pub(crate) washes: &'a [SoiledKit],
    /// What to order.
    pub(crate) orders: &'a [DueOrder],
}

impl Diary<'_> {
    /// The calendar.
    pub(crate) fn calendar(&self) -> String {
        let jobs = self
            .jobs
            .iter()
            .flat_map(|(job, lengths_s)| self.days(job, *lengths_s));
        let washes = self.washes.iter().filter_map(|kit| self.wash(kit));
        let orders = self.orders.iter().map(|order| self.order(order));
        let mut calendar = Calendar::empty();
        calendar.append_property(("VERSION", "2.0"));
        calendar.append_property(("PRODID", PRODUCT));
        calendar.append_property(("CALSCALE", "GREGORIAN"));
        calendar.extend(jobs.chain(washes).chain(orders));
        calendar.to_string()
    }

    /// What was put into it, as a sentence's end: `3 jobs, 1 wash and 2 orders`.
    pub(crate) fn told(&self) -> String {
        let count = |found: usize| i64::try_from(found).unwrap_or(i64::MAX);
        let washes = self.washes.iter().filter(|kit| kit.wash_by_time.is_some());
        format!(
            "{}, {} and {}",
            several(count(self.jobs.len()), "job", "jobs"),
            several(count(washes.count()), "wash", "washes"),
            several(count(self.orders.len()), "order", "orders"),
        )
    }

    /// An event of the book with what every event has.
    fn event(&self, what: &str, id: &str, sequence: i64) -> Event {
        let mut event = Event::new();
        event.uid(&format!("{what}-{id}@{}", self.book));
        event.sequence(u32::try_from(sequence).unwrap_or(u32::MAX));
        event.add_property("DTSTAMP", utc(self.as_of_s));
        event
    }

    /// The days of a job, an event each.
    fn days(&self, job: &Job, lengths_s: Option<[i64; 2]>) -> Vec<Event> {
        let [first_s, second_s] = lengths_s.map_or([None, None], |both| both.map(Some));
        let begins = |start: &Option<Timestamp>| start.as_ref().map_or(0, |start| start.seconds);
        let first = ("job", "", begins(&job.start_time));
        let mut days = vec![self.day(job, first, first_s)];
        if job.second_start_time.is_some() {
            let second = (
                "job-second-day",
                ", second day",
                begins(&job.second_start_time),
            );
            days.push(self.day(job, second, second_s));
        }
        days
    }

    fn day(
        &self,
        job: &Job,
        (sort, which, start_s): (&str, &str, i64),
        length_s: Option<i64>,
    ) -> Event {
        let mut event = self.event(sort, &job.job, job.last_seq);
        event.summary(&format!(
            "{}: {} on {}{which}",
            job.job, job.routine, job.car
        ));
        event.location(&job.place);
        if !job.note.is_empty() {
            event.description(&job.note);
        }
        event.add_property("DTSTART", utc(start_s));
        if let Some(length_s) = length_s.filter(|length_s| *length_s > 0) {
            event.add_property("DTEND", utc(start_s.saturating_add(length_s)));
        }
        event.status(if job.state() == JobState::CalledOff {
            EventStatus::Cancelled
        } else {
            EventStatus::Confirmed
        });
        event
    }

    /// A wash that the next job at a place needs; nothing where none does.
    fn wash(&self, kit: &SoiledKit) -> Option<Event> {
        let by_s = kit.wash_by_time.as_ref()?.seconds;
        let mut event = self.event("wash", &kit.place, self.head_seq);
        let tags: Vec<&str> = kit.tags.iter().map(String::as_str).collect();
        event.summary(&format!("Wash by now: {}", tags::ranges(&tags)));
        event.description("Later it is not dry for the next job there.");
        event.location(&kit.place);
        event.add_property("DTSTART", utc(by_s));
        Some(event)
    }

    /// The last day to order, or today where that has passed.
    fn order(&self, order: &DueOrder) -> Event {
        let mut event = self.event("order", &order.make, self.head_seq);
        let day = order.order_by_date.parse::<Date>();
        let day = day.unwrap_or(self.today).max(self.today);
        let what = format!("{} × {}", order.need_count, order.make_name);
        event.summary(&if order.late {
            format!("Order, already late: {what}")
        } else {
            format!("Last day to order: {what}")
        });
        if !order.jobs.is_empty() {
            event.description(&format!("For {}.", order.jobs.join(", ")));
        }
        let mut start = Property::new("DTSTART", day.strftime("%Y%m%d").to_string());
        start.add_parameter("VALUE", "DATE");
        event.append_property(start.done());
        event
    }
}

/// A moment in UTC, as RFC 5545 writes it (section 3.3.5, form 2).
fn utc(second: i64) -> String {
    let moment = jiff::Timestamp::from_second(second).unwrap_or(jiff::Timestamp::UNIX_EPOCH);
    moment.strftime("%Y%m%dT%H%M%SZ").to_string()
}

#[cfg(test)]
mod tests {
    use fettlebook_contract::v1::{DueOrder, Job, JobState, SoiledKit};
    use jiff::civil::date;
    use prost_types::Timestamp;

    use super::Diary;

    fn at(seconds: i64) -> Option<Timestamp> {
        Some(Timestamp { seconds, nanos: 0 })
    }

    fn job(id: &str, start_s: i64, state: JobState) -> Job {
        Job {
            job: id.to_owned(),
            car: "red-city".to_owned(),
            routine: "one-step".to_owned(),
            place: "bench".to_owned(),
            start_time: at(start_s),
            state: state.into(),
            last_seq: 7,
            ..Job::default()
        }
    }

    /// Source of the forms: RFC 5545, sections 3.1 (lines of 75 octets), 3.3.5 and 3.8.4.7.
    #[test]
    fn jobs_washes_and_orders_are_events_that_keep_their_ids() {
        let job = Job {
            note: "keys; in the tin, left".to_owned(),
            ..job("tuesday", 1_793_520_000, JobState::Booked)
        };
        let off = self::job("wednesday", 1_793_606_400, JobState::CalledOff);
        let diary = Diary {
            book: "b-1",
            head_seq: 9,
            as_of_s: 1_793_433_600,
            today: date(2026, 10, 31),
            jobs: vec![(&job, Some([14_400, 0])), (&off, None)],
            washes: &[
                SoiledKit {
                    place: "bench".to_owned(),
                    tags: vec!["P-01".to_owned(), "P-02".to_owned()],
                    wash_by_time: at(1_793_480_400),
                    ..SoiledKit::default()
                },
                SoiledKit::default(),
            ],
            orders: &[
                DueOrder {
                    make: "coarse-foam-150".to_owned(),
                    make_name: "coarse foam".to_owned(),
                    need_count: 2,
                    order_by_date: "2026-11-03".to_owned(),
                    jobs: vec!["tuesday".to_owned()],
                    ..DueOrder::default()
                },
                DueOrder {
                    make: "tape".to_owned(),
                    make_name: "tape".to_owned(),
                    need_count: 1,
                    order_by_date: "2026-10-20".to_owned(),
                    late: true,
                    ..DueOrder::default()
                },
            ],
        };
        assert_eq!(diary.told(), "2 jobs, 1 wash and 2 orders");
        insta::assert_snapshot!(diary.calendar().replace("\r\n", "\n"));
    }

    /// A calendar that was read before keeps the first day's id: the second is an event of its own.
    #[test]
    fn a_job_of_two_days_is_two_events() {
        let job = Job {
            second_start_time: at(86_400),
            ..job("tuesday", 0, JobState::Booked)
        };
        let diary = Diary {
            jobs: vec![(&job, Some([3_600, 7_200]))],
            ..Diary::default()
        };
        let text = diary.calendar();
        let told = |line: &str| text.lines().any(|found| found == line);
        for line in [
            "UID:job-tuesday@",
            "DTSTART:19700101T000000Z",
            "DTEND:19700101T010000Z",
            "UID:job-second-day-tuesday@",
            "DTSTART:19700102T000000Z",
            "DTEND:19700102T020000Z",
        ] {
            assert!(told(line), "{line}: {text}");
        }
        assert_eq!(text.matches("BEGIN:VEVENT").count(), 2);
    }

    #[test]
    fn lines_are_folded_and_end_as_the_standard_says() {
        let job = Job {
            note: "ä".repeat(200),
            ..job("tuesday", 0, JobState::Booked)
        };
        let diary = Diary {
            jobs: vec![(&job, None)],
            ..Diary::default()
        };
        let text = diary.calendar();
        assert!(text.ends_with("END:VCALENDAR\r\n"));
        assert!(text.split("\r\n").all(|line| line.len() <= 75), "{text}");
        assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
    }
}
