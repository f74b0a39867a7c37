//! What a deed does to the piece it is about.
//!
//! Serves [`crate::Book::apply`] and the fold after a reversal. It cannot refuse: what contradicts
//! the state is taken as far as it makes sense, and the entry's flags ask for a count.

mod batteries;
mod levels;
mod sundries;

use fettlebook_quantity::{Seconds, Volume};
use jiff::civil::Date;

use crate::Moment;
use crate::book::deed::{Deed, Entry, PadWork};
use crate::ground::ids::Seq;
use crate::trade::dose::volume_left;
use crate::trade::kept::{KeptMark, Told, Trail, Wash};
use crate::trade::kit::{Piece, Readiness, State, WaitingWeight};
use crate::trade::since::When;
use crate::trade::tally::{PlannedUse, Taken};
use crate::trade::towel::{Handled, Wiping};
use crate::trade::wear::{BinReason, Work};

/// When a deed was done, in which entry it stands, and whose that is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stamp<'a> {
    /// Number of the entry.
    pub seq: Seq,
    /// When it was done.
    pub done_at: Moment,
    /// Who reported it.
    pub by: &'a str,
    /// How its device kept it.
    pub kept: Option<KeptMark>,
}

impl<'a> Stamp<'a> {
    /// The stamp of an entry.
    pub(crate) fn of(entry: &'a Entry) -> Self {
        Self {
            seq: entry.seq,
            done_at: entry.done_at,
            by: &entry.by,
            kept: entry.kept,
        }
    }

    /// The stamp of what nobody reported.
    pub(crate) const fn unreported(seq: Seq, done_at: Moment) -> Self {
        Self {
            seq,
            done_at,
            by: "",
            kept: None,
        }
    }

    /// When it was done, among all that was done to a piece.
    pub(crate) fn when(&self) -> When {
        match self.kept {
            Some(kept) => When::kept(self.done_at, self.by, kept.number),
            None => When::at_once(self.done_at, self.seq),
        }
    }
}

impl Piece {
    /// Takes a deed that is about this piece.
    pub(crate) fn take(&mut self, deed: &Deed, stamp: Stamp<'_>) {
        self.last_seq = stamp.seq;
        match deed {
            Deed::Moved { place, .. } => self.place = place.clone(),
            // Of what earlier programs say that a device had seen soiled, the time says as much.
            Deed::Washed { dry_s, .. } => self.wash(*dry_s, stamp),
            Deed::Dried { .. } => self.dry(stamp),
            Deed::Labelled { .. } => {
                self.labelled_at = self.labelled_at.max(Some(stamp.done_at));
            }
            Deed::Charged { .. } | Deed::BatteryUsed { .. } => {
                self.charge_or_empty(deed, stamp.done_at);
            }
            Deed::SetAside { reason, .. } => self.turn(Readiness::Aside(*reason), stamp.done_at),
            Deed::Returned {
                check_due_on,
                is_clean,
                ..
            } => self.come_back(*check_due_on, *is_clean, stamp.done_at),
            Deed::Binned { reason, .. } => {
                self.readiness = Readiness::Binned(*reason);
                match (&mut self.state, reason) {
                    (State::Bottle(bottle), BinReason::Empty) => bottle.run_dry(&stamp.when()),
                    (State::Sundry(sundry), BinReason::Empty) => sundry.run_out(&stamp.when()),
                    _ => {}
                }
                self.since = stamp.done_at;
                self.needs_count = false;
            }
            Deed::PadUsed { work, .. } => self.work(work, stamp.done_at),
            Deed::Inspected { found, .. } => {
                if let State::Pad(pad) = &mut self.state
                    && pad.inspected_at.is_none_or(|last| stamp.done_at >= last)
                {
                    pad.inspected = Some(*found);
                    pad.inspected_at = Some(stamp.done_at);
                }
            }
            Deed::TakenAlong { day, .. } => {
                if let State::Pad(pad) = &mut self.state {
                    pad.taken_along_on = pad.taken_along_on.max(Some(*day));
                }
            }
            Deed::PlateUsed {
                time_ms,
                change_count,
                ..
            } => {
                if let State::Plate(plate) = &mut self.state {
                    plate.run_time_ms = plate.run_time_ms.saturating_add(*time_ms);
                    plate.change_count = plate.change_count.saturating_add(*change_count);
                }
            }
            Deed::MachineUsed { time_ms, .. } => {
                if let State::Machine(machine) = &mut self.state {
                    machine.run_time_ms = machine.run_time_ms.saturating_add(*time_ms);
                }
            }
            Deed::Weighed { .. }
            | Deed::GrossWeighed { .. }
            | Deed::TareFound { .. }
            | Deed::VolumeRead { .. }
            | Deed::LiquidUsed { .. }
            | Deed::PouredOut { .. }
            | Deed::PouredIn { .. } => self.pour(deed, stamp),
            Deed::TowelsCounted { .. }
            | Deed::TowelsBinned { .. }
            | Deed::Demoted { .. }
            | Deed::TowelsUsed { .. } => self.handle_towels(deed, stamp),
            Deed::SundryCounted { .. } | Deed::SundryUsed { .. } => self.count_or_use(deed, stamp),
            Deed::MakeSet { .. }
            | Deed::CarSet { .. }
            | Deed::RoutineSet { .. }
            | Deed::PolicySet { .. }
            | Deed::Received { .. }
            | Deed::JobSet { .. }
            | Deed::JobDone { .. }
            | Deed::FirstDayDone { .. }
            | Deed::JobCalledOff { .. }
            | Deed::JobTaken { .. }
            | Deed::JobReleased { .. }
            | Deed::SupplierSet { .. }
            | Deed::OrderSet { .. }
            | Deed::OrderPlaced { .. }
            | Deed::OrderClosed { .. }
            | Deed::Delivered { .. }
            | Deed::Reversed { .. }
            | Deed::FilmRead { .. }
            | Deed::Restated { .. } => {}
        }
        self.remember(deed, stamp);
    }

    /// Comes back from where it was kept off paint: a pad is soiled unless somebody says that it is clean.
    fn come_back(&mut self, check_due_on: Option<Date>, is_clean: Option<bool>, at: Moment) {
        if let (State::Tool(tool), Some(due)) = (&mut self.state, check_due_on) {
            tool.check_due_on = Some(due);
        }
        let now = if self.pad().is_some() && is_clean != Some(true) {
            Readiness::Soiled
        } else {
            Readiness::Ready
        };
        self.turn(now, at);
    }

    /// Remembers which entry used or counted it, and whose that is.
    fn remember(&mut self, deed: &Deed, stamp: Stamp<'_>) {
        let trail = match deed {
            Deed::PadUsed { .. }
            | Deed::LiquidUsed { .. }
            | Deed::PouredOut { .. }
            | Deed::PouredIn { .. }
            | Deed::TowelsUsed { .. }
            | Deed::SundryUsed { .. } => &mut self.used,
            Deed::Weighed { .. }
            | Deed::GrossWeighed { .. }
            | Deed::VolumeRead { .. }
            | Deed::TowelsCounted { .. }
            | Deed::SundryCounted { .. } => &mut self.counted,
            _ => return,
        };
        Trail::add(trail, stamp.seq, stamp.by);
    }

    /// Turns the readiness, unless something done later has turned it already or it is binned.
    fn turn(&mut self, to: Readiness, done_at: Moment) {
        if done_at >= self.since && !self.is_binned() {
            self.readiness = to;
            self.since = done_at;
        }
    }

    fn wash(&mut self, dry_s: Seconds, stamp: Stamp<'_>) {
        let done_at = stamp.done_at;
        self.washes.add(Wash {
            told: Told {
                seq: stamp.seq,
                by: stamp.by.into(),
            },
            done_at,
        });
        let dry_at = later(done_at, dry_s);
        match &mut self.state {
            State::Pad(pad) => {
                pad.wash_count = pad.wash_count.saturating_add(1);
                pad.carried.wash(done_at);
                if !matches!(self.readiness, Readiness::Aside(_)) {
                    self.turn(Readiness::Drying(dry_at), done_at);
                }
            }
            State::Bundle(bundle) => {
                bundle.wash_count = bundle.wash_count.saturating_add(1);
                bundle.handle(Handled::Washed(dry_at), stamp.when());
                self.turn(Readiness::Drying(dry_at), done_at);
            }
            State::Plate(_)
            | State::Machine(_)
            | State::Bottle(_)
            | State::Sundry(_)
            | State::Tool(_)
            | State::Battery(_) => {}
        }
    }

    fn dry(&mut self, stamp: Stamp<'_>) {
        if let State::Bundle(bundle) = &mut self.state {
            bundle.handle(Handled::Dried, stamp.when());
        }
        self.turn(Readiness::Ready, stamp.done_at);
    }

    fn work(&mut self, work: &PadWork, done_at: Moment) {
        if let State::Pad(pad) = &mut self.state {
            let is_first = pad.use_count == 0 && pad.work == Work::ZERO;
            if is_first || pad.first_used_at.is_some_and(|first| done_at < first) {
                pad.first_used_at = Some(done_at);
            }
            pad.work = pad.work.saturating_add(work.work());
            pad.use_count = pad.use_count.saturating_add(1);
            let carried = pad
                .coarsest_liquid
                .map_or(work.liquid, |held| held.min(work.liquid));
            pad.coarsest_liquid = Some(carried);
            pad.carried.put_on(work.liquid, done_at);
            if !matches!(self.readiness, Readiness::Aside(_)) {
                self.turn(Readiness::Soiled, done_at);
            }
        }
    }

    fn pour(&mut self, deed: &Deed, stamp: Stamp<'_>) {
        let (done_at, when) = (stamp.done_at, stamp.when());
        let State::Bottle(bottle) = &mut self.state else {
            return;
        };
        let is_settled = match deed {
            Deed::LiquidUsed {
                volume_ul,
                planned_ul,
                within,
                rules,
                ..
            } => {
                let planned = within.job.as_ref().map(|job| PlannedUse {
                    job: Some(job.clone()),
                    planned_quantity: planned_ul.ul(),
                    rules: *rules,
                });
                let taken = Taken {
                    quantity: volume_ul.ul(),
                    planned,
                    done_at,
                };
                bottle.take_out(taken, when);
                false
            }
            Deed::PouredOut { volume_ul, .. } => {
                bottle.take_out(unplanned(*volume_ul, done_at), when);
                false
            }
            // What comes in is what goes out, below zero.
            Deed::PouredIn {
                volume_ul,
                lot,
                expiry,
                opened_at,
                ..
            } => {
                let taken = Volume::ZERO.saturating_sub(*volume_ul);
                bottle.take_out(unplanned(taken, done_at), when);
                bottle.lot.clone_from(lot);
                bottle.expiry = *expiry;
                bottle.opened_at = bottle.opened_at.min(Some(*opened_at));
                false
            }
            Deed::Weighed {
                gross_mg,
                tare_mg,
                density_mg_per_ml,
                ..
            } => {
                let left = volume_left(*gross_mg, *tare_mg, *density_mg_per_ml);
                left.is_some_and(|left| bottle.weigh(left, &when))
            }
            Deed::GrossWeighed {
                gross_mg,
                density_mg_per_ml,
                ..
            } => {
                let says_what_is_left = bottle.known_tare().is_some();
                let weight = WaitingWeight {
                    gross_mg: *gross_mg,
                    density_mg_per_ml: *density_mg_per_ml,
                    at: done_at,
                    taken_ul: Volume::ZERO,
                    weighed: Some(when.clone()),
                };
                bottle.weigh_gross(weight, &when) && says_what_is_left
            }
            Deed::TareFound { tare_mg, .. } => bottle.find_tare(*tare_mg),
            // What a device had seen says nothing: a reading is what was there.
            Deed::VolumeRead { left_ul, .. } => bottle.read_off(*left_ul, &when),
            _ => false,
        };
        if is_settled {
            self.needs_count = false;
        }
    }

    fn handle_towels(&mut self, deed: &Deed, stamp: Stamp<'_>) {
        let (done_at, when) = (stamp.done_at, stamp.when());
        let State::Bundle(bundle) = &mut self.state else {
            return;
        };
        match deed {
            Deed::TowelsUsed {
                used_count,
                dropped_count,
                wiped_mm2,
                ..
            } => {
                bundle.handle(Handled::Used(*used_count), when);
                if let Some(area_mm2) = *wiped_mm2 {
                    bundle.wipings.add(Wiping {
                        done_at,
                        area_mm2,
                        towel_count: used_count.saturating_sub(*dropped_count),
                        job_count: 1,
                    });
                }
            }
            Deed::TowelsCounted {
                clean_count,
                soiled_count,
                ..
            } => {
                let is_newest = bundle.count(*clean_count, *soiled_count, &when);
                if is_newest {
                    self.needs_count = false;
                    self.turn(Readiness::Ready, done_at);
                }
            }
            Deed::TowelsBinned { count, .. } => bundle.handle(Handled::DroppedOut(*count), when),
            Deed::Demoted { grade, .. } => bundle.grade = *grade,
            _ => {}
        }
    }
}

/// Liquid that no job was planned to take.
const fn unplanned(volume: Volume, done_at: Moment) -> Taken {
    Taken {
        quantity: volume.ul(),
        planned: None,
        done_at,
    }
}

/// A moment this much later, at most the last one there is.
pub(crate) fn later(moment: Moment, time: Seconds) -> Moment {
    let span = jiff::SignedDuration::from_secs(time.s());
    moment.checked_add(span).unwrap_or(Moment::MAX)
}
