//! Turns at being sealed: so many in a second, and who is next.
//!
//! Invariant: whoever comes from where devices called lately waits for no stranger; of strangers the
//! one is next from where the fewest had a turn lately, so that nobody is shut out by coming often.

use std::collections::VecDeque;
use std::future::Future as _;
use std::pin::Pin;
use std::task::Context;
use std::time::{Duration, Instant};

use tokio::sync::oneshot;
use tokio::time::Sleep;

use super::crowd::Crowd;
use super::doorway::{Doorway, Rate};
use super::strangers::At;

/// Who waits for a turn, the oldest first, and who had one lately.
pub(super) struct Lane {
    waiting: Vec<Waiting>,
    lately: VecDeque<At>,
    /// How many of these were from where.
    crowd: Crowd,
    doorway: Doorway,
    devices: Pace,
    strangers: Pace,
    /// Wakes when the next turn is free.
    alarm: Option<Pin<Box<Sleep>>>,
}

/// One who waits.
struct Waiting {
    at: At,
    device: bool,
    turn: oneshot::Sender<()>,
}

/// What became of the next turn.
#[derive(Debug, PartialEq, Eq)]
enum Next {
    /// Somebody has it.
    Given,
    /// It is free at this moment.
    FreeAt(Instant),
    /// Nobody waits for it.
    NotWanted,
}

impl Lane {
    /// Nobody yet, before this door.
    pub(super) fn before(doorway: Doorway) -> Self {
        Self {
            waiting: Vec::new(),
            lately: VecDeque::new(),
            crowd: Crowd::default(),
            doorway,
            devices: Pace::default(),
            strangers: Pace::default(),
            alarm: None,
        }
    }

    /// Takes a place in the line for one from there; what this gives comes true with its turn. Who lets
    /// go of it has left the line.
    pub(super) fn line_up(&mut self, at: At, device: bool) -> oneshot::Receiver<()> {
        let (turn, comes) = oneshot::channel();
        self.waiting.push(Waiting { at, device, turn });
        comes
    }

    /// Gives turns to those whose turn it is; wakes whoever asks when the next may have one.
    pub(super) fn hand_out(&mut self, context: &mut Context<'_>) {
        loop {
            match self.next(Instant::now()) {
                Next::Given => {}
                Next::NotWanted => {
                    self.alarm = None;
                    return;
                }
                Next::FreeAt(moment) => {
                    let mut alarm = Box::pin(tokio::time::sleep_until(moment.into()));
                    if alarm.as_mut().poll(context).is_pending() {
                        self.alarm = Some(alarm);
                        return;
                    }
                }
            }
        }
    }

    /// Gives one turn at most.
    fn next(&mut self, now: Instant) -> Next {
        self.waiting.retain(|waiting| !waiting.turn.is_closed());
        let mut free_at = None;
        for device in [true, false] {
            let Some(index) = self.first_of(device) else {
                continue;
            };
            let (pace, rate) = if device {
                (&mut self.devices, self.doorway.device_seals())
            } else {
                (&mut self.strangers, self.doorway.stranger_seals())
            };
            match pace.take(now, rate) {
                Ok(()) => {
                    self.give(index);
                    return Next::Given;
                }
                Err(moment) => free_at = free_at.into_iter().chain([moment]).min(),
            }
        }
        free_at.map_or(Next::NotWanted, Next::FreeAt)
    }

    /// Whose turn it is among those from where devices called lately, or among the others.
    fn first_of(&self, device: bool) -> Option<usize> {
        let waiting = self.waiting.iter().enumerate();
        let waiting = waiting.filter(|(_, waiting)| waiting.device == device);
        // Of equals the first is taken, which has waited longest.
        let first = waiting.min_by_key(|(_, waiting)| self.crowd.around(waiting.at));
        first.map(|(index, _)| index)
    }

    fn give(&mut self, index: usize) {
        let Waiting { at, turn, .. } = self.waiting.remove(index);
        // Whoever has gone in the meantime does not hear it.
        let _ = turn.send(());
        let most = self.doorway.turns_remembered_max();
        let too_many = (self.lately.len() + 1).saturating_sub(most);
        for gone in self.lately.drain(..too_many) {
            self.crowd.take(gone);
        }
        self.lately.push_back(at);
        self.crowd.add(at);
    }
}

/// What was taken at some rate.
#[derive(Default)]
struct Pace {
    /// Up to when all has been taken.
    taken_until: Option<Instant>,
}

impl Pace {
    /// Takes one.
    ///
    /// # Errors
    /// With the moment at which one is free, when none is.
    fn take(&mut self, now: Instant, rate: Rate) -> Result<(), Instant> {
        let every = Duration::from_secs(1) / rate.per_s.max(1);
        let ahead_max = every * rate.at_once.saturating_sub(1);
        let from = self.taken_until.map_or(now, |until| until.max(now));
        let too_far = (from - now).saturating_sub(ahead_max);
        if !too_far.is_zero() {
            return Err(now + too_far);
        }
        self.taken_until = Some(from + every);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::limits::{
        CONNECTIONS_MAX, DEVICE_SEALS_PER_S_MAX, STRANGER_SEALS_PER_S_MAX, TURNS_REMEMBERED_MAX,
    };

    /// Half of what is sealed in a second comes without a pause.
    const STRANGER_SEALS_AT_ONCE_MAX: u32 = STRANGER_SEALS_PER_S_MAX / 2;
    const DEVICE_SEALS_AT_ONCE_MAX: u32 = DEVICE_SEALS_PER_S_MAX / 2;

    /// A line with those who wait in it, and where they came from.
    struct Line {
        lane: Lane,
        waiting: Vec<(&'static str, oneshot::Receiver<()>)>,
        now: Instant,
    }

    impl Line {
        fn new() -> Self {
            Self {
                lane: Lane::before(Doorway::for_connections(CONNECTIONS_MAX)),
                waiting: Vec::new(),
                now: Instant::now(),
            }
        }

        fn comes(&mut self, from: &'static str, device: bool) {
            let at = At::of(from.parse().unwrap());
            self.waiting.push((from, self.lane.line_up(at, device)));
        }

        /// Hands out what is free now, and gives those who had a turn.
        fn turns(&mut self) -> Vec<&'static str> {
            let mut had = Vec::new();
            while self.lane.next(self.now) == Next::Given {
                let mut waiting = self.waiting.iter_mut();
                let index = waiting.position(|(_, turn)| turn.try_recv().is_ok());
                had.push(self.waiting.remove(index.unwrap()).0);
            }
            had
        }
    }

    fn count(limit: u32) -> usize {
        limit.try_into().unwrap()
    }

    #[test]
    fn strangers_have_so_many_turns_at_once_and_then_so_many_in_a_second() {
        let mut line = Line::new();
        let all = STRANGER_SEALS_AT_ONCE_MAX + 2 * STRANGER_SEALS_PER_S_MAX;
        for _ in 0..all {
            line.comes("192.0.2.7", false);
        }
        let mut had = line.turns().len();
        assert_eq!(had, count(STRANGER_SEALS_AT_ONCE_MAX));
        for second in 1..=2 {
            for _ in 0..STRANGER_SEALS_PER_S_MAX {
                line.now += Duration::from_secs(1) / STRANGER_SEALS_PER_S_MAX;
                had += line.turns().len();
            }
            let due = STRANGER_SEALS_AT_ONCE_MAX + second * STRANGER_SEALS_PER_S_MAX;
            assert_eq!(had, count(due));
        }
        // What nobody took is not saved up beyond those at once.
        line.now += Duration::from_secs(60);
        for _ in 0..all {
            line.comes("192.0.2.7", false);
        }
        assert_eq!(line.turns().len(), count(STRANGER_SEALS_AT_ONCE_MAX));
    }

    #[test]
    fn the_next_turn_is_free_when_its_part_of_a_second_is_over() {
        let mut line = Line::new();
        for _ in 0..=STRANGER_SEALS_AT_ONCE_MAX {
            line.comes("192.0.2.7", false);
        }
        line.turns();
        let every = Duration::from_secs(1) / STRANGER_SEALS_PER_S_MAX;
        assert_eq!(line.lane.next(line.now), Next::FreeAt(line.now + every));
        line.now += every;
        assert_eq!(line.turns(), ["192.0.2.7"]);
        assert_eq!(line.lane.next(line.now), Next::NotWanted);
    }

    #[test]
    fn from_where_devices_called_one_waits_for_no_stranger() {
        let mut line = Line::new();
        for _ in 0..=STRANGER_SEALS_AT_ONCE_MAX {
            line.comes("198.51.100.1", false);
        }
        line.turns();
        line.comes("192.0.2.7", true);
        assert_eq!(line.turns(), ["192.0.2.7"]);
        for _ in 0..=DEVICE_SEALS_AT_ONCE_MAX {
            line.comes("192.0.2.7", true);
        }
        let had = line.turns().len();
        let due = count(DEVICE_SEALS_AT_ONCE_MAX) - 1;
        assert_eq!(had, due, "and has a bound, too");
    }

    #[test]
    fn whoever_comes_from_where_few_had_a_turn_is_next() {
        let mut line = Line::new();
        for _ in 0..STRANGER_SEALS_AT_ONCE_MAX {
            line.comes("198.51.100.1", false);
        }
        line.turns();
        for from in ["198.51.100.1", "2001:db8:1:1::1", "192.0.2.8"] {
            line.comes(from, false);
        }
        line.now += Duration::from_secs(1);
        let had = line.turns();
        assert_eq!(had, ["2001:db8:1:1::1", "192.0.2.8", "198.51.100.1"]);
        // Another network of the same site, which has thousands.
        line.comes("2001:db8:1:2::1", false);
        line.comes("203.0.113.9", false);
        assert_eq!(line.turns(), ["203.0.113.9", "2001:db8:1:2::1"]);
    }

    /// So that a place where many came a while ago is like any other again.
    #[test]
    fn so_many_turns_are_remembered_and_no_more() {
        let mut line = Line::new();
        for _ in 0..TURNS_REMEMBERED_MAX + 2 {
            line.comes("198.51.100.1", false);
            line.now += Duration::from_secs(1);
            line.turns();
        }
        let often = At::of("198.51.100.1".parse().unwrap());
        let most = TURNS_REMEMBERED_MAX;
        assert_eq!(line.lane.crowd.around(often), (most, most));
        for _ in 0..TURNS_REMEMBERED_MAX {
            line.comes("192.0.2.7", false);
            line.now += Duration::from_secs(1);
            line.turns();
        }
        assert_eq!(line.lane.crowd.around(often), (0, 0));
    }

    /// The devices of many shops come back at once, and are sealed as fast as there are shops.
    #[cfg(feature = "postgres")]
    #[test]
    fn with_many_shops_more_are_sealed_in_a_second() {
        let mut line = Line::new();
        line.lane.doorway.tell_shops(1_000);
        let at_once = line.lane.doorway.stranger_seals().at_once;
        assert!(at_once > STRANGER_SEALS_AT_ONCE_MAX);
        for _ in 0..=at_once {
            line.comes("192.0.2.7", false);
        }
        assert_eq!(line.turns().len(), count(at_once));
    }

    #[test]
    fn whoever_has_gone_takes_no_turn() {
        let mut line = Line::new();
        line.comes("198.51.100.1", false);
        line.waiting.clear();
        assert_eq!(line.lane.next(line.now), Next::NotWanted);
        assert_eq!(line.lane.strangers.taken_until, None);
    }
}
