//! What each piece comes to, summed from what was reported of it, against what the book says.
//!
//! It serves verification. It leaves reversed entries out instead of taking the records that a
//! reversal restated, so that a fault in either way shows as a difference. It holds no state of a
//! piece that the book holds, and must never be what anything else is worked out from.
//!
//! # Formula
//! - worked, washed, run: what it came with, and every report since;
//! - liquid and sundries: the newest reading by when it was done, less what was taken after that;
//! - towels: likewise, less those binned after that.

mod level;
mod scale;

use std::collections::{BTreeMap, BTreeSet};

use fettlebook_quantity::Mass;

use crate::book::Book;
use crate::book::change::Stamp;
use crate::book::deed::{Deed, Entry, Record};
use crate::ground::ids::{Seq, Subject, Tag};
use crate::trade::dose::volume_left;
use crate::trade::kit::{Piece, State};
use crate::trade::since::When;
use crate::trade::wear::BinReason;
use level::Level;
use scale::Scale;

/// What was reported of every piece.
#[derive(Debug, Clone, Default)]
pub struct Sums {
    steps: BTreeMap<Tag, Vec<Step>>,
    reversed: BTreeSet<Seq>,
}

/// One report that changes what a piece comes to.
#[derive(Debug, Clone)]
struct Step {
    seq: Seq,
    when: When,
    what: What,
}

#[derive(Debug, Clone, Copy)]
enum What {
    Came(Figures),
    Adds(Figures),
    Takes(i64),
    /// Read, in what it is counted in.
    Read(i64),
    /// Weighed, in mg, at a density; what is left follows from the tare.
    Gross(Mass, i64),
    /// The tare was worked out.
    Tare(Mass),
    /// Binned because nothing is in it: a reading, for a bottle.
    Emptied,
    /// An earlier program restated its record, with the level alone.
    AddedUp,
    /// Something was said that contradicts the book, so that a number of towels cannot be summed.
    Doubt,
}

/// What can be summed of a piece; what a sort of piece has not is 0.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Figures {
    work: i64,
    wash_count: i64,
    use_count: i64,
    run_ms: i64,
    change_count: i64,
    charge_count: i64,
    left: i64,
}

impl Sums {
    /// Takes the next entry of the book.
    pub fn take(&mut self, entry: &Entry) {
        for deed in &entry.deeds {
            match (deed, deed.subject()) {
                (Deed::Reversed { seq }, _) => {
                    self.reversed.insert(*seq);
                }
                (_, Subject::Piece(tag)) => {
                    if let Some(what) = what(deed) {
                        self.step(tag, entry, what);
                    }
                }
                _ => {}
            }
        }
        for flag in &entry.flags {
            if let Subject::Piece(tag) = flag.subject {
                self.step(tag, entry, What::Doubt);
            }
        }
    }

    fn step(&mut self, tag: Tag, entry: &Entry, what: What) {
        let step = Step {
            seq: entry.seq,
            when: Stamp::of(entry).when(),
            what,
        };
        self.steps.entry(tag).or_default().push(step);
    }

    /// What the book says of a piece otherwise than its entries add up to, a clause each.
    pub fn differences(&self, book: &Book) -> Vec<String> {
        let mut found = Vec::new();
        for piece in book.pieces() {
            match self.sum(piece) {
                None => found.push(format!("{} is in the book, but never came", piece.tag)),
                Some((sum, sure)) => {
                    found.extend(compared(piece, sum, sure));
                }
            }
        }
        let came = |steps: &[Step]| {
            let mut standing = steps
                .iter()
                .filter(|step| !self.reversed.contains(&step.seq));
            standing.any(|step| matches!(step.what, What::Came(_)))
        };
        let gone = self.steps.iter().filter(|(_, steps)| came(steps));
        for (tag, _) in gone.filter(|(tag, _)| book.piece(**tag).is_none()) {
            found.push(format!("{tag} came, but is not in the book"));
        }
        found
    }

    /// What a piece adds up to, and whether what is left of it can be told.
    fn sum(&self, piece: &Piece) -> Option<(Figures, bool)> {
        let steps = self.steps.get(&piece.tag)?.iter();
        let mut steps = steps.filter(|step| !self.reversed.contains(&step.seq));
        let mut sum = steps.by_ref().find_map(|step| match step.what {
            What::Came(figures) => Some(figures),
            _ => None,
        })?;
        let mut level = Level::of(sum.left);
        let mut scale = Scale::of(piece);
        let (mut sure, mut doubted_at): (bool, Option<&When>) = (true, None);
        for Step { when, what, .. } in steps {
            match what {
                What::Adds(more) => {
                    sum = sum.with(more);
                    if matches!(piece.state, State::Bundle(_)) {
                        level.take(when.clone(), more.left.saturating_neg());
                    }
                }
                What::Takes(quantity) => level.take(when.clone(), *quantity),
                What::Gross(gross, density) => scale.weigh(*gross, *density, when, &mut level),
                What::Tare(tare) => scale.find(*tare, &mut level),
                What::Read(left) => {
                    // A doubt about what was done after the reading, though told before it, stays.
                    sure |= level.is_newest(when) && doubted_at.is_none_or(|at| at <= when);
                    scale.read(*left, when, &mut level);
                }
                What::Emptied if matches!(piece.state, State::Bottle(_)) => {
                    scale.read(0, when, &mut level);
                }
                What::Doubt | What::AddedUp => {
                    sure = false;
                    doubted_at = doubted_at.max(Some(when));
                    if matches!(what, What::AddedUp) {
                        level.add_up(when.clone());
                    }
                }
                What::Came(_) | What::Emptied => {}
            }
        }
        sum.left = level.left();
        Some((sum, sure))
    }
}

impl Figures {
    fn with(self, more: &Self) -> Self {
        Self {
            work: self.work.saturating_add(more.work),
            wash_count: self.wash_count.saturating_add(more.wash_count),
            use_count: self.use_count.saturating_add(more.use_count),
            run_ms: self.run_ms.saturating_add(more.run_ms),
            change_count: self.change_count.saturating_add(more.change_count),
            charge_count: self.charge_count.saturating_add(more.charge_count),
            left: self.left.saturating_add(more.left),
        }
    }
}

/// What a deed on a piece does to its sums; nothing when it does nothing to them.
fn what(deed: &Deed) -> Option<What> {
    let none = Figures::default();
    Some(match deed {
        Deed::Received { state, .. } => What::Came(in_book(state)),
        Deed::PadUsed { work, .. } => What::Adds(Figures {
            work: work.work().micro_sections(),
            use_count: 1,
            ..none
        }),
        Deed::Washed { .. } => What::Adds(Figures {
            wash_count: 1,
            ..none
        }),
        Deed::PlateUsed {
            time_ms,
            change_count,
            ..
        } => What::Adds(Figures {
            run_ms: *time_ms,
            change_count: *change_count,
            ..none
        }),
        Deed::MachineUsed { time_ms, .. } => What::Adds(Figures {
            run_ms: *time_ms,
            ..none
        }),
        Deed::Charged { .. } => What::Adds(Figures {
            charge_count: 1,
            ..none
        }),
        Deed::TowelsBinned { count, .. } => What::Adds(Figures {
            left: count.saturating_neg(),
            ..none
        }),
        Deed::LiquidUsed { volume_ul, .. } => What::Takes(volume_ul.ul()),
        Deed::PouredOut { volume_ul, .. } => What::Takes(volume_ul.ul()),
        Deed::PouredIn { volume_ul, .. } => What::Takes(volume_ul.ul().saturating_neg()),
        Deed::SundryUsed { quantity, .. } => What::Takes(*quantity),
        Deed::Weighed {
            gross_mg,
            tare_mg,
            density_mg_per_ml,
            ..
        } => What::Read(volume_left(*gross_mg, *tare_mg, *density_mg_per_ml)?.ul()),
        Deed::GrossWeighed {
            gross_mg,
            density_mg_per_ml,
            ..
        } => What::Gross(*gross_mg, *density_mg_per_ml),
        Deed::TareFound { tare_mg, .. } => What::Tare(*tare_mg),
        Deed::VolumeRead { left_ul, .. } => What::Read(left_ul.ul()),
        Deed::Binned {
            reason: BinReason::Empty,
            ..
        } => What::Emptied,
        // What was done to towels changes nothing of how many there are, but has its place among counts.
        Deed::TowelsUsed { .. } | Deed::Dried { .. } => What::Adds(none),
        Deed::TowelsCounted {
            clean_count,
            soiled_count,
            ..
        } => What::Read(clean_count.saturating_add(*soiled_count)),
        Deed::SundryCounted { left_quantity, .. } => What::Read(*left_quantity),
        Deed::Restated {
            record: Some(Record::Piece(piece)),
            ..
        } if !piece.is_whole() => What::AddedUp,
        Deed::Restated { .. } => What::Doubt,
        _ => return None,
    })
}

/// The figures of a piece in this state.
fn in_book(state: &State) -> Figures {
    let none = Figures::default();
    match state {
        State::Pad(pad) => Figures {
            work: pad.work.micro_sections(),
            wash_count: pad.wash_count,
            use_count: pad.use_count,
            ..none
        },
        State::Plate(plate) => Figures {
            run_ms: plate.run_time_ms,
            change_count: plate.change_count,
            ..none
        },
        State::Machine(machine) => Figures {
            run_ms: machine.run_time_ms,
            ..none
        },
        State::Bundle(bundle) => Figures {
            wash_count: bundle.wash_count,
            left: bundle.total_count(),
            ..none
        },
        State::Bottle(bottle) => Figures {
            left: bottle.left_ul.ul(),
            ..none
        },
        State::Sundry(sundry) => Figures {
            left: sundry.left_quantity,
            ..none
        },
        State::Battery(battery) => Figures {
            charge_count: battery.charge_count,
            ..none
        },
        State::Tool(_) => none,
    }
}

/// What the book says of a piece otherwise than its sum, figure by figure.
fn compared(piece: &Piece, sum: Figures, sure: bool) -> Vec<String> {
    let said = in_book(&piece.state);
    let left = |unit| (unit, said.left, sum.left);
    let washes = ("washes", said.wash_count, sum.wash_count);
    let run = ("ms of running", said.run_ms, sum.run_ms);
    let figures = match &piece.state {
        State::Pad(_) => vec![
            ("millionths of a section", said.work, sum.work),
            washes,
            ("uses", said.use_count, sum.use_count),
        ],
        State::Plate(_) => vec![run, ("pad changes", said.change_count, sum.change_count)],
        State::Machine(_) => vec![run],
        State::Bundle(_) if sure => vec![washes, left("towels")],
        State::Bundle(_) => vec![washes],
        State::Bottle(_) => vec![left("µL")],
        State::Sundry(_) => vec![left("units")],
        State::Battery(_) => vec![("charges", said.charge_count, sum.charge_count)],
        State::Tool(_) => Vec::new(),
    };
    let wrong = figures.into_iter().filter(|(_, said, sum)| said != sum);
    let told = wrong.map(|(unit, said, sum)| {
        let tag = piece.tag;
        format!("the book has {tag} at {said} {unit}, but its entries add up to {sum}")
    });
    told.collect()
}
