//! What a piece gave to its jobs, as its entries and weighings tell it.

use crate::Moment;
use crate::answers::job_cost::measured_share;
use crate::book::deed::{Deed, Entry};
use crate::ground::ids::{Id, Tag};
use crate::maths::credibility::Span;
use crate::maths::life::count_f64;
use crate::trade::kit::Piece;

/// What a piece gave to a job, or to work that nobody booked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Given {
    /// The job; `None` for other work.
    pub job: Option<Id>,
    /// When it was done.
    pub done_at: Moment,
    /// What was planned; `None` where no plan is told with it.
    pub planned: Option<i64>,
    /// What it gave.
    pub quantity: i64,
    /// How that is known.
    pub basis: GivenBasis,
}

/// How what a piece gave is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GivenBasis {
    /// By weight; of jobs between two weighings its share.
    Weighed,
    /// By count; of jobs between two counts its share.
    Counted,
    /// A person said it.
    Said,
    /// As the plan has it.
    Planned,
}

/// What a piece gave, the first first; the steps of a job together.
pub(super) fn given(piece: &Piece, entries: &[&Entry]) -> Vec<Given> {
    let mut all: Vec<Given> = Vec::new();
    for entry in entries {
        let of_piece = entry
            .deeds
            .iter()
            .filter_map(|deed| of_deed(piece, entry, deed));
        for one in of_piece {
            let same = |held: &&mut Given| held.job == one.job && held.done_at == one.done_at;
            match all.iter_mut().find(same) {
                Some(held) => {
                    held.quantity = held.quantity.saturating_add(one.quantity);
                    let both = held.planned.zip(one.planned);
                    held.planned = both.map(|(held, more)| held.saturating_add(more));
                }
                None => all.push(one),
            }
        }
    }
    all.sort_by_key(|one| one.done_at);
    all
}

fn of_deed(piece: &Piece, entry: &Entry, deed: &Deed) -> Option<Given> {
    let done_at = entry.done_at;
    let (within, planned, quantity, basis) = match deed {
        Deed::LiquidUsed {
            tag,
            within,
            volume_ul,
            planned_ul,
            stated,
            ..
        } if *tag == piece.tag => {
            let planned = within.job.is_some().then_some(planned_ul.ul());
            let weighed = planned.and_then(|planned| measured_share(piece, planned, done_at));
            let basis = match (weighed, stated) {
                (Some(_), _) => GivenBasis::Weighed,
                (None, true) => GivenBasis::Said,
                (None, false) => GivenBasis::Planned,
            };
            (within, planned, weighed.unwrap_or(volume_ul.ul()), basis)
        }
        Deed::TowelsUsed {
            tag,
            within,
            used_count,
            wiped_mm2,
            ..
        } if *tag == piece.tag => {
            let basis = if wiped_mm2.is_some() || within.job.is_none() {
                GivenBasis::Said
            } else {
                GivenBasis::Planned
            };
            (within, None, *used_count, basis)
        }
        Deed::SundryUsed {
            tag,
            within,
            quantity,
            planned_quantity,
            stated,
        } if *tag == piece.tag => {
            let of_job = within.job.as_ref();
            let planned = planned_quantity.filter(|_| of_job.is_some());
            let counted = planned.and_then(|planned| measured_share(piece, planned, done_at));
            let basis = match counted {
                Some(_) => GivenBasis::Counted,
                None if *stated || of_job.is_none() => GivenBasis::Said,
                None => GivenBasis::Planned,
            };
            let given = counted.unwrap_or(*quantity);
            (within, planned, given, basis)
        }
        Deed::BatteryUsed {
            tag,
            within,
            time_ms,
            taken_permille,
            ..
        } if *tag == piece.tag => {
            let basis = match taken_permille {
                Some(_) => GivenBasis::Said,
                None => GivenBasis::Planned,
            };
            (within, None, time_ms.div_euclid(1_000), basis)
        }
        _ => return None,
    };
    Some(Given {
        job: within.job.clone(),
        done_at,
        planned,
        quantity,
        basis,
    })
}

/// Weighings, readings and counts of a piece.
pub(super) fn reading_count(tag: Tag, entries: &[&Entry]) -> i64 {
    let deeds = entries.iter().flat_map(|entry| &entry.deeds);
    let readings = deeds.filter(|deed| match deed {
        Deed::Weighed { tag: of, .. }
        | Deed::GrossWeighed { tag: of, .. }
        | Deed::VolumeRead { tag: of, .. }
        | Deed::TowelsCounted { tag: of, .. }
        | Deed::SundryCounted { tag: of, .. } => *of == tag,
        _ => false,
    });
    i64::try_from(readings.count()).unwrap_or(i64::MAX)
}

/// Washes of a bundle, or charges of a battery, against the jobs before each, and the jobs in all: a round
/// without a job before it goes with the jobs before the next.
pub(super) fn rounds_and_jobs(tag: Tag, entries: &[&Entry]) -> (Vec<Span>, i64) {
    let mut in_order: Vec<&Entry> = entries.to_vec();
    in_order.sort_by_key(|entry| (entry.done_at, entry.seq));
    let (mut spans, mut all_jobs) = (Vec::new(), 0_i64);
    let (mut jobs, mut rounds) = (0_usize, 0_usize);
    for entry in in_order {
        for deed in &entry.deeds {
            match deed {
                Deed::TowelsUsed {
                    tag: of, within, ..
                }
                | Deed::BatteryUsed {
                    tag: of, within, ..
                } if *of == tag && within.job.is_some() => {
                    jobs = jobs.saturating_add(1);
                    all_jobs = all_jobs.saturating_add(1);
                }
                // What fills a battery before its first job is the end of no round.
                Deed::Charged { tag: of, .. } if *of == tag && all_jobs == 0 => {}
                Deed::Washed { tag: of, .. } | Deed::Charged { tag: of, .. } if *of == tag => {
                    rounds = rounds.saturating_add(1);
                    if jobs > 0 {
                        spans.push(Span {
                            planned: count_f64(jobs),
                            actual: count_f64(rounds),
                        });
                        (jobs, rounds) = (0, 0);
                    }
                }
                _ => {}
            }
        }
    }
    (spans, all_jobs)
}
