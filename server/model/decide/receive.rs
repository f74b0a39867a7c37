//! Taking new pieces into the kit.
//!
//! A tag is never given twice, not even when its piece was taken back.

use fettlebook_quantity::{Volume, field_words};
use jiff::civil::Date;

use super::Decision;
use super::bounds::{line_of_text, within};
use super::landed::{Arrivals, in_book_currency, left_of};
use super::notebook::uses_behind;
use crate::book::command::Receipt;
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Subject, Tag};
use crate::ground::money::Money;
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::local_day::LocalDays;
use crate::ready::stock_cost::quantity_of;
use crate::ready::towel_use::grade_for;
use crate::trade::battery::BatteryState;
use crate::trade::kit::{
    BottleState, BundleState, MachineState, PadState, PlateState, State, SundryState,
};
use crate::trade::make::{Figures, LiquidFigures, Make, SundryFigures};
use crate::trade::tally::Tally;
use crate::trade::tool::ToolState;
use crate::trade::towel::{Pile, TowelGrade, Wipings};
use crate::{Book, Moment};

/// Most pieces in one receipt.
pub(super) const PIECES_MAX: i64 = 500;
const MS_PER_S: i64 = 1_000;
/// Longest lot, in characters.
pub(super) const LOT_CHARS_MAX: usize = 40;

pub(super) fn receive(book: &Book, receipt: &Receipt, now: Moment) -> Result<Decision, Refusal> {
    let decision = Decision::of(&receipt.said, now)?;
    let make = book
        .make(&receipt.make)
        .ok_or_else(|| Refusal::no_id(Reason::MakeUnknown, "make", "make", &receipt.make))?;
    let (tags, flags) = tags(book, receipt, make)?;
    fits_sort(receipt, make)?;
    let grade = receipt
        .towel_grade
        .unwrap_or_else(|| grade_for(book, &make.id));
    let came_on = LocalDays::of(book).day(decision.done_at);
    let state = first_state(receipt, make, grade, decision.done_at, came_on)?;
    let landed = landed(book, receipt, &state)?;
    let mut arrivals = Arrivals::of(book, &make.id);
    let mut deeds = Vec::new();
    for tag in tags {
        let cost = landed.map(|landed| arrivals.next(quantity_of(&state), landed));
        deeds.push(Deed::Received {
            tag,
            make: make.id.clone(),
            place: receipt.place.clone(),
            state: state.clone(),
            readiness: None,
            at: None,
            cost: cost.transpose().map_err(|_| too_much())?,
        });
    }
    Ok(decision.with(deeds, flags))
}

/// What of its cost is left in a piece that comes in so.
fn landed(book: &Book, receipt: &Receipt, state: &State) -> Result<Option<Money>, Refusal> {
    let Some(landed) = receipt.landed else {
        return match receipt.landed_quantity {
            None => Ok(None),
            Some(_) => Err(Refusal::missing(
                "landed_cost",
                "Say what it cost, or leave out for how much.",
            )),
        };
    };
    in_book_currency(book, "landed_cost", landed)?;
    let held = quantity_of(state);
    Ok(left_of(
        landed,
        held,
        receipt.landed_quantity.unwrap_or(held),
    ))
}

fn too_much() -> Refusal {
    Refusal::quantity(
        "landed_cost",
        "It costs more than can be reckoned with.",
        "Look at the sum.",
    )
}

/// The tags given, all of them free, or the next ones of the sort: for a device those with its own letter. A
/// device is not refused for a tag that others gave meanwhile; its piece gets another, and it is said.
fn tags(book: &Book, receipt: &Receipt, make: &Make) -> Result<(Vec<Tag>, Vec<Flag>), Refusal> {
    let given = i64::try_from(receipt.tags.len()).unwrap_or(i64::MAX);
    let count = match (receipt.piece_count, given) {
        (0, 0) => 1,
        (0, given) => given,
        (count, _) => count,
    };
    within("piece_count", count, 1, PIECES_MAX, "pieces at once")?;
    if given == 0 {
        let wanted = usize::try_from(count).unwrap_or(usize::MAX);
        let next = book.next_tags(&letters(receipt, make), wanted);
        if next.len() < wanted {
            return Err(no_more_tags());
        }
        return Ok((next, Vec::new()));
    }
    if given != count {
        return Err(Refusal::invalid(
            "tags",
            format!("{given} tags are given for {count} pieces."),
            "Give one tag for each piece, or none to be given the next ones.",
        ));
    }
    let (mut tags, mut flags) = (receipt.tags.clone(), Vec::new());
    for (at, tag) in receipt.tags.iter().enumerate() {
        let twice = receipt.tags.iter().take(at).any(|other| other == tag);
        let is_taken = book.is_taken(&Subject::Piece(*tag));
        if is_taken && !twice && receipt.said.kept.is_some() {
            let spare = spare_tag(book, &letters(receipt, make), &tags).ok_or_else(no_more_tags)?;
            if let Some(held) = tags.get_mut(at) {
                *held = spare;
            }
            flags.push(Flag {
                subject: Subject::Piece(spare),
                text: format!(
                    "The tag {tag} had been given to another piece, which this device had not seen; this \
                     one is {spare}. Put that on its label, and look at what was recorded of {tag} since."
                ),
                count: false,
            });
        } else if twice || is_taken {
            return Err(Refusal::new(
                Reason::TagTaken,
                "tags",
                format!("The tag {tag} is taken, or was once; tags are never used again."),
                "Give another tag.",
            ));
        }
    }
    Ok((tags, flags))
}

/// The letters of the tags that are given: those of the sort, and behind them a device's own.
fn letters(receipt: &Receipt, make: &Make) -> String {
    let own = receipt.said.kept.as_ref().and_then(|kept| kept.tag_letter);
    let sort = make.figures.tag_letters();
    own.map_or_else(|| sort.to_owned(), |own| format!("{sort}{own}"))
}

/// A tag of these letters that is free beside others that are given with it.
fn spare_tag(book: &Book, letters: &str, beside: &[Tag]) -> Option<Tag> {
    let next = book.next_tags(letters, beside.len().saturating_add(1));
    next.into_iter().find(|tag| !beside.contains(tag))
}

fn no_more_tags() -> Refusal {
    Refusal::new(
        Reason::TagTaken,
        "tags",
        "There are no more free numbers for this sort.",
        "Give tags with other letters.",
    )
}

/// Refuses figures that say nothing of this sort of thing.
fn fits_sort(receipt: &Receipt, make: &Make) -> Result<(), Refusal> {
    let figures = &make.figures;
    let pad = matches!(figures, Figures::Pad(_));
    let plate = matches!(figures, Figures::Plate(_));
    let machine = matches!(figures, Figures::Machine(_));
    let towel = matches!(figures, Figures::Towel(_));
    let bottle = matches!(figures, Figures::Liquid(_));
    let sundry = matches!(figures, Figures::Sundry(_));
    let tool = matches!(figures, Figures::Tool(_));
    let battery = matches!(figures, Figures::Battery(_));
    let stray = [
        ("towel_count", receipt.towel_count != 0 && !towel),
        ("towel_grade", receipt.towel_grade.is_some() && !towel),
        ("lot", !receipt.lot.is_empty() && !bottle),
        ("expiry_date", receipt.expiry.is_some() && !bottle),
        ("volume_ul", receipt.volume_ul.is_some() && !bottle),
        ("tare_mg", receipt.tare_mg.is_some() && !bottle),
        ("quantity", receipt.quantity.is_some() && !sundry),
        ("check_due_date", receipt.check_due.is_some() && !tool),
        ("work_micro_sections", receipt.work.is_some() && !pad),
        ("wash_count", receipt.wash_count.is_some() && !pad && !towel),
        (
            "run_time_s",
            receipt.run_time.is_some() && !plate && !machine,
        ),
        ("change_count", receipt.change_count.is_some() && !plate),
        ("charge_count", receipt.charge_count.is_some() && !battery),
    ];
    match stray.iter().find(|(_, stray)| *stray) {
        None => Ok(()),
        Some((field, _)) => Err(Refusal::invalid(
            field,
            format!(
                "The {} does not go with {}, a {}.",
                field_words(field),
                make.id,
                figures.sort()
            ),
            "Leave it out.",
        )),
    }
}

fn first_state(
    receipt: &Receipt,
    make: &Make,
    grade: TowelGrade,
    done: Moment,
    came_on: Date,
) -> Result<State, Refusal> {
    let washes = receipt.wash_count.unwrap_or(0);
    let run_time_ms = receipt
        .run_time
        .map_or(0, |time| time.s().saturating_mul(MS_PER_S));
    Ok(match &make.figures {
        Figures::Pad(figures) => {
            let work = receipt.work.unwrap_or_default();
            State::Pad(PadState {
                work,
                wash_count: washes,
                use_count: uses_behind(work, figures),
                ..PadState::default()
            })
        }
        Figures::Plate(_) => State::Plate(PlateState {
            run_time_ms,
            change_count: receipt.change_count.unwrap_or(0),
        }),
        Figures::Machine(_) => State::Machine(MachineState { run_time_ms }),
        Figures::Towel(_) => {
            if receipt.towel_count == 0 {
                return Err(Refusal::missing(
                    "towel_count",
                    "Say how many towels are in the bundle.",
                ));
            }
            State::Bundle(BundleState {
                clean_count: receipt.towel_count,
                soiled_count: 0,
                drying_count: 0,
                wash_count: washes,
                grade,
                wipings: Wipings::default(),
                counted: Pile::default(),
                since: Box::default(),
            })
        }
        Figures::Liquid(liquid) => State::Bottle(full_bottle(receipt, liquid, done, came_on)?),
        Figures::Sundry(sundry) => State::Sundry(full_pack(receipt, sundry)?),
        Figures::Tool(_) => State::Tool(ToolState {
            check_due_on: receipt.check_due,
        }),
        // A battery is charged before its first use (common practice, no source).
        Figures::Battery(_) => State::Battery(BatteryState {
            charge_count: receipt.charge_count.unwrap_or(0),
            ..BatteryState::default()
        }),
    })
}

fn full_bottle(
    receipt: &Receipt,
    liquid: &LiquidFigures,
    done: Moment,
    came_on: Date,
) -> Result<BottleState, Refusal> {
    line_of_text("lot", &receipt.lot, LOT_CHARS_MAX)?;
    let full = liquid.bottle_ul;
    let left = receipt.volume_ul.unwrap_or(full);
    let unit = "µL, the size of the bottle";
    within("volume_ul", left.ul(), 0, full.ul(), unit)?;
    if let Some(last) = receipt.expiry.filter(|last| *last < came_on) {
        return Err(Refusal::invalid(
            "expiry_date",
            format!("{last} lies before the day it came in."),
            "Look at the label; a bottle past its date does not go into the kit.",
        ));
    }
    Ok(BottleState {
        left_ul: left,
        full_ul: full,
        tare_mg: receipt.tare_mg.or(liquid.tare_mg),
        lot: receipt.lot.clone(),
        expiry: receipt.expiry,
        opened_at: (left < full && left > Volume::ZERO).then_some(done),
        measured_at: None,
        used_at: None,
        tally: Tally::default(),
        found_tare_mg: None,
        waiting: None,
        since: Box::default(),
    })
}

fn full_pack(receipt: &Receipt, sundry: &SundryFigures) -> Result<SundryState, Refusal> {
    let left = receipt.quantity.unwrap_or(sundry.pack_quantity);
    Ok(SundryState {
        left_quantity: left,
        counted_at: None,
        since: Box::default(),
        tally: Tally::default(),
        planned: Vec::new(),
    })
}
