//! Entries on the wire: what was recorded, deed by deed, each with its figures and its sentence.
//!
//! It serves every command's answer and the reading of the book. The answer to a command must follow
//! from the entry, never from what came after it, so that a retry gets the same bytes for ever.

use fettlebook_contract::v1;
use fettlebook_contract::v1::DeedKind;
use fettlebook_model::kept::KeptMark;
use fettlebook_model::kit::State;
use fettlebook_model::make::{Figures, Unit};
use fettlebook_model::{Book, Deed, Entry, Flag, Record, Subject};

use super::deed_text;
use super::{moment, seq};
use crate::edge::prices::Prices;

/// The entry that a command made. Of the book only the units of sundries are looked up.
pub(in crate::edge) fn entry(book: &Book, entry: &Entry, prices: Prices) -> v1::Entry {
    let entry = prices.of_entry(entry);
    v1::Entry {
        seq: seq(entry.seq),
        recorded_time: Some(moment(entry.recorded_at)),
        done_time: Some(moment(entry.done_at)),
        request_id: entry.request.to_string(),
        by: entry.by.clone(),
        deeds: entry
            .deeds
            .iter()
            .map(|done| deed(book, &entry, done))
            .collect(),
        flags: entry.flags.iter().map(flag).collect(),
        note: entry.note.clone(),
        reversed_by_seq: None,
        kept: entry.kept.map(kept),
    }
}

/// The entry as it is read from the book: with the one that reversed it, if any did.
pub(in crate::edge) fn entry_of_book(book: &Book, read: &Entry, prices: Prices) -> v1::Entry {
    v1::Entry {
        reversed_by_seq: book.reversed_by(read.seq).map(seq),
        ..entry(book, read, prices)
    }
}

/// Without what its device said for the deed alone: that is in what is recorded.
fn kept(mark: KeptMark) -> v1::Kept {
    v1::Kept {
        number: mark.number,
        seen_seq: seq(mark.seen),
        kept_time: Some(moment(mark.kept_at)),
        levels: Vec::new(),
        incarnation_id: String::new(),
        tag_letter: String::new(),
    }
}

fn flag(flag: &Flag) -> v1::Flag {
    let (tag, text) = (flag.subject.word(), flag.text.clone());
    let tagged_text = if text.contains(&tag) {
        text.clone()
    } else {
        format!("{tag}: {text}")
    };
    v1::Flag {
        tag,
        text,
        tagged_text,
    }
}

fn deed(book: &Book, entry: &Entry, deed: &Deed) -> v1::Deed {
    let subject = deed.subject().word();
    let said = if is_told_by_weight(entry, deed) {
        deed_text::used_by_weight()
    } else {
        deed_text::said(deed, unit(book, deed))
    };
    let mut shown = v1::Deed {
        kind: kind(deed).into(),
        text: said.text(&subject),
        apart: said.is_apart(),
        clause: said.clause(),
        subject,
        ..v1::Deed::default()
    };
    if let Some(within) = deed.within() {
        shown.job = within
            .job
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default();
        shown.step = within
            .step
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default();
    }
    figures(deed, &mut shown);
    shown
}

/// Whether what a plan took as used is said better by the weight of the same bottle in the same entry:
/// two figures for one bottle would contradict each other.
fn is_told_by_weight(entry: &Entry, deed: &Deed) -> bool {
    let Deed::LiquidUsed {
        tag, stated: false, ..
    } = deed
    else {
        return false;
    };
    entry.deeds.iter().any(|other| match other {
        Deed::Weighed { tag: weighed, .. }
        | Deed::GrossWeighed {
            tag: weighed,
            tare_mg: Some(_),
            ..
        } => weighed == tag,
        _ => false,
    })
}

/// The unit of the sundry a deed is about.
fn unit(book: &Book, deed: &Deed) -> Option<Unit> {
    let make = match deed {
        Deed::Received {
            make,
            state: State::Sundry(_),
            ..
        } => make,
        Deed::SundryUsed { tag, .. } | Deed::SundryCounted { tag, .. } => &book.piece(*tag)?.make,
        _ => return None,
    };
    match &book.make(make)?.figures {
        Figures::Sundry(sundry) => Some(sundry.unit),
        _ => None,
    }
}

/// Fills in the figures a deed has.
fn figures(deed: &Deed, shown: &mut v1::Deed) {
    match deed {
        Deed::Received { place, .. } | Deed::Moved { place, .. } => {
            shown.place = place.to_string();
        }
        Deed::Weighed { gross_mg, .. } | Deed::GrossWeighed { gross_mg, .. } => {
            shown.gross_mg = Some(gross_mg.mg());
        }
        Deed::TareFound { tare_mg, .. } => shown.tare_mg = Some(tare_mg.mg()),
        Deed::VolumeRead { left_ul, .. } => shown.volume_ul = Some(left_ul.ul()),
        Deed::TowelsCounted {
            clean_count,
            soiled_count,
            ..
        } => {
            shown.count = Some(clean_count.saturating_add(*soiled_count));
        }
        Deed::SundryCounted { left_quantity, .. } => shown.quantity = Some(*left_quantity),
        Deed::TowelsBinned { count, .. } => shown.count = Some(*count),
        Deed::PadUsed { work, .. } => {
            shown.section_count = Some(work.section_count);
            shown.time_ms = Some(work.time_ms);
            shown.work_micro_sections = Some(work.work().micro_sections());
        }
        Deed::PlateUsed {
            time_ms,
            change_count,
            ..
        } => {
            shown.time_ms = Some(*time_ms);
            shown.count = Some(*change_count);
        }
        Deed::MachineUsed { time_ms, .. } | Deed::BatteryUsed { time_ms, .. } => {
            shown.time_ms = Some(*time_ms);
        }
        Deed::LiquidUsed { volume_ul, .. }
        | Deed::PouredOut { volume_ul, .. }
        | Deed::PouredIn { volume_ul, .. } => shown.volume_ul = Some(volume_ul.ul()),
        Deed::TowelsUsed { used_count, .. } => shown.count = Some(*used_count),
        Deed::SundryUsed { quantity, .. } => shown.quantity = Some(*quantity),
        Deed::JobSet { job } => shown.job = job.id.to_string(),
        Deed::JobTaken { job, picked, .. } => {
            shown.job = job.to_string();
            shown.count = i64::try_from(picked.len()).ok();
        }
        Deed::JobDone { job, .. }
        | Deed::FirstDayDone { job, .. }
        | Deed::JobCalledOff { job }
        | Deed::JobReleased { job } => {
            shown.job = job.to_string();
        }
        Deed::FilmRead {
            of_job: Some(of_job),
            ..
        } => shown.job = of_job.job().to_string(),
        Deed::Reversed { seq: reversed } => shown.reverses_seq = Some(seq(*reversed)),
        Deed::Restated {
            subject: Subject::Job(id),
            record: Some(Record::Job(_)),
        } => {
            shown.job = id.to_string();
        }
        Deed::MakeSet { .. }
        | Deed::CarSet { .. }
        | Deed::FilmRead { of_job: None, .. }
        | Deed::RoutineSet { .. }
        | Deed::PolicySet { .. }
        | Deed::Washed { .. }
        | Deed::Dried { .. }
        | Deed::Labelled { .. }
        | Deed::Charged { .. }
        | Deed::Inspected { .. }
        | Deed::TakenAlong { .. }
        | Deed::SetAside { .. }
        | Deed::Returned { .. }
        | Deed::Binned { .. }
        | Deed::Demoted { .. }
        | Deed::SupplierSet { .. }
        | Deed::OrderSet { .. }
        | Deed::OrderPlaced { .. }
        | Deed::OrderClosed { .. }
        | Deed::Delivered { .. }
        | Deed::Restated { .. } => {}
    }
}

const fn kind(deed: &Deed) -> DeedKind {
    match deed {
        Deed::MakeSet { .. } => DeedKind::MakeSet,
        Deed::CarSet { .. } => DeedKind::CarSet,
        Deed::FilmRead { .. } => DeedKind::FilmRead,
        Deed::RoutineSet { .. } => DeedKind::RoutineSet,
        Deed::PolicySet { .. } => DeedKind::PolicySet,
        Deed::Received { .. } => DeedKind::Received,
        Deed::Moved { .. } => DeedKind::Moved,
        Deed::Washed { .. } => DeedKind::Washed,
        Deed::Dried { .. } => DeedKind::Dried,
        Deed::Labelled { .. } => DeedKind::Labelled,
        Deed::Charged { .. } => DeedKind::Charged,
        Deed::BatteryUsed { .. } => DeedKind::BatteryUsed,
        Deed::Inspected { .. } => DeedKind::Inspected,
        Deed::TakenAlong { .. } => DeedKind::TakenAlong,
        Deed::Weighed { .. } | Deed::GrossWeighed { .. } => DeedKind::Weighed,
        Deed::TareFound { .. } => DeedKind::TareFound,
        Deed::VolumeRead { .. } | Deed::TowelsCounted { .. } | Deed::SundryCounted { .. } => {
            DeedKind::Counted
        }
        Deed::SetAside { .. } => DeedKind::SetAside,
        Deed::Returned { .. } => DeedKind::Returned,
        Deed::Binned { .. } | Deed::TowelsBinned { .. } => DeedKind::Binned,
        Deed::Demoted { .. } => DeedKind::Demoted,
        Deed::PadUsed { .. } => DeedKind::PadUsed,
        Deed::PlateUsed { .. } => DeedKind::PlateUsed,
        Deed::MachineUsed { .. } => DeedKind::MachineUsed,
        Deed::LiquidUsed { .. } => DeedKind::LiquidUsed,
        Deed::PouredOut { .. } | Deed::PouredIn { .. } => DeedKind::Poured,
        Deed::TowelsUsed { .. } => DeedKind::TowelsUsed,
        Deed::SundryUsed { .. } => DeedKind::SundryUsed,
        Deed::JobSet { .. } => DeedKind::JobSet,
        Deed::JobDone { .. } => DeedKind::JobDone,
        Deed::FirstDayDone { .. } => DeedKind::FirstDayDone,
        Deed::JobCalledOff { .. } => DeedKind::JobCalledOff,
        Deed::JobTaken { .. } => DeedKind::JobTaken,
        Deed::JobReleased { .. } => DeedKind::JobReleased,
        Deed::SupplierSet { .. } => DeedKind::SupplierSet,
        Deed::OrderSet { .. } | Deed::OrderPlaced { .. } | Deed::OrderClosed { .. } => {
            DeedKind::OrderSet
        }
        Deed::Delivered { .. } => DeedKind::Delivered,
        Deed::Reversed { .. } => DeedKind::Reversed,
        Deed::Restated { .. } => DeedKind::Restated,
    }
}
