//! How pieces are taken over: pads with what they have behind them, everything else as received.
//!
//! What a request cannot carry, such as a bottle that holds less than nothing, is told as left behind.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{
    BottleState, BundleState, CountKitRequest, PadRow, Piece, Readiness, ReceiveKitRequest,
    SetAsideRequest, SundryState,
};
use jiff::ZonedDateTime;
use jiff::civil::Date;

use super::{Known, Planner, Sort, THERE};
use crate::render::screen::several;
use crate::sheets::{Dated, FILES, Read};
use crate::when::stamp;

/// A piece to receive, and what is said of it then.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Receipt {
    /// How it comes in.
    pub(crate) receive: ReceiveKitRequest,
    /// Its count, where some of it is soiled.
    pub(crate) count: Option<CountKitRequest>,
    /// That it is aside, where it is.
    pub(crate) aside: Option<SetAsideRequest>,
}

/// How much of what cannot be taken over there was.
#[derive(Default)]
struct Behind {
    below_zero: i64,
}

impl Planner {
    /// Plans the pieces.
    pub(super) fn pieces(&mut self, kit: Vec<Read<Dated>>, known: &Known, now: &ZonedDateTime) {
        let [.., file, _] = FILES;
        let mut behind = Behind::default();
        for read in kit {
            let piece = &read.what.piece;
            self.make((file, read.line, "make"), &piece.make);
            if piece.make.is_empty() {
                let text = "The cell is empty; every piece is of a make.".to_owned();
                self.wrong(file, read.line, "make", text);
            }
            if known.tags.contains(&piece.tag) {
                self.passed(file, &piece.tag, THERE);
                continue;
            }
            let Some(Some(sort)) = self.names.makes.get(&piece.make).copied() else {
                continue;
            };
            if !fits(piece, sort) {
                let text = format!(
                    "{} is a {}; the line has figures of another sort.",
                    piece.make,
                    sort.word()
                );
                self.wrong(file, read.line, "make", text);
                continue;
            }
            self.piece(&read, sort, now, &mut behind);
        }
        self.plan.left_behind = behind.told();
    }

    fn piece(&mut self, read: &Read<Dated>, sort: Sort, now: &ZonedDateTime, behind: &mut Behind) {
        let [.., file, _] = FILES;
        let piece = &read.what.piece;
        let towels = match &piece.state {
            Some(State::Bundle(bundle)) => towels(bundle),
            _ => 0,
        };
        if sort == Sort::Pad {
            self.plan.pads.push(pad(read.line, &read.what));
        } else if piece.readiness() == Readiness::Binned {
            self.passed(
                file,
                &piece.tag,
                "is binned, and only pads keep their history",
            );
        } else if sort == Sort::Towel && towels == 0 {
            self.passed(file, &piece.tag, "has no towels in it");
        } else {
            behind.see(piece);
            self.plan.receipts.push(Read {
                line: read.line,
                within: Vec::new(),
                what: receipt(&read.what, now),
            });
        }
    }
}

/// Whether the figures of a piece are those of its make; a new piece has none.
const fn fits(piece: &Piece, sort: Sort) -> bool {
    matches!(
        (&piece.state, sort),
        (None, _)
            | (Some(State::Pad(_)), Sort::Pad)
            | (Some(State::Plate(_)), Sort::Plate)
            | (Some(State::Machine(_)), Sort::Machine)
            | (Some(State::Bundle(_)), Sort::Towel)
            | (Some(State::Bottle(_)), Sort::Liquid)
            | (Some(State::Sundry(_)), Sort::Sundry)
            | (Some(State::Tool(_)), Sort::Tool)
            | (Some(State::Battery(_)), Sort::Battery)
    )
}

/// A pad as a row of a notebook; one that is drying is soiled until it is dry.
fn pad(line: i64, dated: &Dated) -> PadRow {
    let piece = &dated.piece;
    let (work, washes) = match &piece.state {
        Some(State::Pad(pad)) => (pad.work_micro_sections, pad.wash_count),
        _ => (0, 0),
    };
    let readiness = match piece.readiness() {
        Readiness::Drying => Readiness::Soiled,
        other => other,
    };
    PadRow {
        line,
        tag: piece.tag.clone(),
        make: piece.make.clone(),
        place: piece.place.clone(),
        work_micro_sections: Some(work),
        job_count: None,
        wash_count: washes,
        readiness: readiness.into(),
        aside_reason: piece.aside_reason,
        bin_reason: piece.bin_reason,
        date: dated.date.clone(),
        landed_cost: piece.landed_cost.clone(),
    }
}

const fn towels(bundle: &BundleState) -> i64 {
    bundle
        .clean_count
        .saturating_add(bundle.soiled_count)
        .saturating_add(bundle.drying_count)
}

/// How a piece that is no pad comes in; its request ids are made when it is sent.
fn receipt(dated: &Dated, now: &ZonedDateTime) -> Receipt {
    let piece = &dated.piece;
    let mut receipt = Receipt {
        receive: ReceiveKitRequest {
            done_time: noon(&dated.date, now),
            make: piece.make.clone(),
            place: piece.place.clone(),
            tags: vec![piece.tag.clone()],
            landed_cost: piece.landed_cost.clone(),
            landed_quantity: piece.landed_cost.as_ref().and(piece.landed_quantity),
            ..ReceiveKitRequest::default()
        },
        ..Receipt::default()
    };
    match &piece.state {
        Some(State::Bundle(bundle)) => bundled(&mut receipt, piece, bundle),
        Some(State::Bottle(bottle)) => bottled(&mut receipt.receive, bottle),
        Some(State::Sundry(sundry)) => packed(&mut receipt.receive, sundry),
        Some(State::Tool(tool)) => {
            receipt
                .receive
                .check_due_date
                .clone_from(&tool.check_due_date);
        }
        Some(State::Plate(plate)) => {
            receipt.receive.run_time_s = Some(plate.run_time_s);
            receipt.receive.change_count = Some(plate.change_count);
        }
        Some(State::Battery(battery)) => {
            receipt.receive.charge_count = Some(battery.charge_count);
        }
        Some(State::Machine(machine)) => receipt.receive.run_time_s = Some(machine.run_time_s),
        Some(State::Pad(_)) | None => {}
    }
    if piece.readiness() == Readiness::Aside {
        receipt.aside = Some(SetAsideRequest {
            done_time: receipt.receive.done_time,
            tags: vec![piece.tag.clone()],
            reason: piece.aside_reason,
            ..SetAsideRequest::default()
        });
    }
    receipt
}

/// All its towels come in clean; a count says which are not.
fn bundled(receipt: &mut Receipt, piece: &Piece, bundle: &BundleState) {
    receipt.receive.towel_count = towels(bundle);
    receipt.receive.wash_count = Some(bundle.wash_count);
    receipt.receive.towel_grade = bundle.grade;
    let soiled = bundle.soiled_count.saturating_add(bundle.drying_count);
    if soiled != 0 {
        receipt.count = Some(CountKitRequest {
            tag: piece.tag.clone(),
            clean_count: Some(bundle.clean_count),
            soiled_count: Some(soiled),
            ..CountKitRequest::default()
        });
    }
}

fn bottled(receive: &mut ReceiveKitRequest, bottle: &BottleState) {
    receive.volume_ul = Some(bottle.left_ul.max(0));
    receive.tare_mg = bottle.tare_mg.or(bottle.found_tare_mg);
    receive.lot.clone_from(&bottle.lot);
    receive.expiry_date.clone_from(&bottle.expiry_date);
}

fn packed(receive: &mut ReceiveKitRequest, sundry: &SundryState) {
    receive.quantity = Some(sundry.left_quantity.max(0));
}

/// The middle of a day, as a moment that has been; none for today and for no day.
fn noon(date: &str, now: &ZonedDateTime) -> Option<prost_types::Timestamp> {
    let day: Date = date.parse().ok()?;
    let noon = day
        .at(12, 0, 0, 0)
        .to_zoned_datetime(now.time_zone().clone())
        .ok()?;
    (noon.date() < now.date()).then(|| stamp(&noon))
}

impl Behind {
    /// Looks at what of a piece that is no pad stays behind.
    fn see(&mut self, piece: &Piece) {
        let left = match &piece.state {
            Some(State::Bottle(bottle)) => bottle.left_ul,
            Some(State::Sundry(sundry)) => sundry.left_quantity,
            _ => 0,
        };
        self.below_zero += i64::from(left < 0);
    }

    fn told(&self) -> Vec<String> {
        if self.below_zero == 0 {
            return Vec::new();
        }
        let pieces = several(self.below_zero, "piece", "pieces");
        vec![format!("Not taken over: what is below zero of {pieces}.")]
    }
}
