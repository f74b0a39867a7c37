//! Pieces of kit on the wire: state, damage, band, and readiness as at a moment.
//!
//! It serves reading the kit. It must not keep anything: a pad that dries becomes ready without an
//! entry.

use fettlebook_contract::v1;
use fettlebook_contract::v1::piece::State as Shown;
use fettlebook_model::batteries::likely_run;
use fettlebook_model::bottle_jobs::BottleJobs;
use fettlebook_model::damage::{damage_of, wear_band};
use fettlebook_model::kit::{
    BottleState, BundleState, Inspection, PadState, Piece, PlateState, Readiness, State,
};
use fettlebook_model::make::{Figures, Make};
use fettlebook_model::{Book, Moment, Tag};

use super::money::money;
use super::{moment, seq};
use crate::edge::prices::Prices;
use crate::edge::words;

/// A piece as it is at a moment, with what it cost where that is shown.
pub(in crate::edge) fn piece(book: &Book, piece: &Piece, now: Moment, prices: Prices) -> v1::Piece {
    let make = book.make(&piece.make).map(AsRef::as_ref);
    let readiness = piece.readiness.at(now);
    let (ready_time, aside, binned) = match readiness {
        Readiness::Drying(until) => (Some(moment(until)), None, None),
        Readiness::Aside(reason) => (None, Some(reason), None),
        Readiness::Binned(reason) => (None, None, Some(reason)),
        Readiness::Ready | Readiness::Soiled => (None, None, None),
    };
    v1::Piece {
        tag: piece.tag.to_string(),
        make: piece.make.to_string(),
        place: piece.place.to_string(),
        readiness: words::readiness_word(readiness),
        ready_time,
        aside_reason: aside.map_or(0, words::aside_reason_word),
        bin_reason: binned.map_or(0, words::bin_reason_word),
        received_time: Some(moment(piece.received_at)),
        needs_count: piece.needs_count,
        last_seq: seq(piece.last_seq),
        make_name: make.map(|make| make.name.clone()).unwrap_or_default(),
        taken_for_jobs: book
            .takers(piece.tag)
            .map(|job| job.id.to_string())
            .collect(),
        labelled_time: piece.labelled_at.map(moment),
        landed_cost: prices.of(piece.cost.map(|cost| cost.landed)).map(money),
        landed_quantity: prices
            .of(piece.cost.map(|cost| cost.landed))
            .and(piece.cost)
            .map(|cost| cost.quantity),
        state: Some(state(book, piece, make, readiness, now)),
    }
}

fn state(
    book: &Book,
    piece: &Piece,
    make: Option<&Make>,
    readiness: Readiness,
    now: Moment,
) -> Shown {
    let figures = make.map(|make| &make.figures);
    let wear = || Wear {
        damage: damage_of(book, piece).unwrap_or_default(),
        band: wear_band(book, piece).map_or(0, words::band_word),
    };
    match &piece.state {
        State::Pad(state) => Shown::Pad(v1::PadState {
            inspected: state.inspected.map(|found| inspected(piece.tag, found)),
            ..pad(state, figures, wear())
        }),
        State::Plate(state) => Shown::Plate(plate(state, figures, wear())),
        State::Machine(state) => Shown::Machine(v1::MachineState {
            run_time_s: super::seconds(state.run_time_ms),
        }),
        State::Bundle(state) => Shown::Bundle(bundle(state, figures, readiness)),
        State::Bottle(state) => Shown::Bottle(bottle(state, figures)),
        State::Sundry(state) => Shown::Sundry(v1::SundryState {
            left_quantity: state.left_quantity,
            unit: match figures {
                Some(Figures::Sundry(sundry)) => words::unit_word(sundry.unit),
                _ => 0,
            },
        }),
        State::Tool(state) => Shown::Tool(v1::ToolState {
            kind: match figures {
                Some(Figures::Tool(tool)) => words::tool_kind_word(tool.kind),
                _ => 0,
            },
            check_due_date: state
                .check_due_on
                .map(|day| day.to_string())
                .unwrap_or_default(),
        }),
        State::Battery(_) => Shown::Battery(battery(book, piece, now, wear())),
    }
}

/// A battery as it is at a moment.
fn battery(book: &Book, piece: &Piece, now: Moment, wear: Wear) -> v1::BatteryState {
    let run = likely_run(book, piece);
    let full_at = piece.battery().and_then(|battery| battery.full_at);
    v1::BatteryState {
        charge_count: piece.battery().map_or(0, |battery| battery.charge_count),
        full: full_at.is_some_and(|full| full <= now),
        full_time: full_at.filter(|full| *full > now).map(moment),
        run_time_s: super::seconds(run.as_ref().map_or(0, |run| run.run_ms)),
        rests_on: run.map(|run| run.rests_on).unwrap_or_default(),
        damage: wear.damage,
        band: wear.band,
    }
}

/// Damage and its band.
#[derive(Clone, Copy)]
struct Wear {
    damage: f64,
    band: i32,
}

fn pad(state: &PadState, figures: Option<&Figures>, wear: Wear) -> v1::PadState {
    let (face_mm, grade) = match figures {
        Some(Figures::Pad(pad)) => (pad.face_mm.mm(), words::grade_word(pad.grade)),
        _ => (0, 0),
    };
    v1::PadState {
        work_micro_sections: state.work.micro_sections(),
        wash_count: state.wash_count,
        use_count: state.use_count,
        coarsest_liquid: state.coarsest_liquid.map_or(0, words::grade_word),
        damage: wear.damage,
        band: wear.band,
        face_mm,
        grade,
        inspected: None,
        unwashed_liquid: state.unwashed_liquid().map_or(0, words::grade_word),
    }
}

fn inspected(tag: Tag, found: Inspection) -> v1::Inspection {
    let grade = |grade| i32::try_from(grade).unwrap_or_default();
    v1::Inspection {
        tag: tag.to_string(),
        rebound_grade: grade(found.rebound_grade),
        edge_grade: grade(found.edge_grade),
        face_grade: grade(found.face_grade),
    }
}

fn plate(state: &PlateState, figures: Option<&Figures>, wear: Wear) -> v1::PlateState {
    v1::PlateState {
        run_time_s: super::seconds(state.run_time_ms),
        change_count: state.change_count,
        damage: wear.damage,
        band: wear.band,
        rated_speed_per_min: match figures {
            Some(Figures::Plate(plate)) => plate.rated_speed_per_min,
            _ => None,
        },
    }
}

/// Towels that were drying are clean once they are dry.
fn bundle(state: &BundleState, figures: Option<&Figures>, readiness: Readiness) -> v1::BundleState {
    let (clean_count, drying_count) = match readiness {
        Readiness::Ready | Readiness::Soiled => {
            (state.clean_count.saturating_add(state.drying_count), 0)
        }
        Readiness::Drying(_) | Readiness::Aside(_) | Readiness::Binned(_) => {
            (state.clean_count, state.drying_count)
        }
    };
    let (inspect, demote) = match figures {
        Some(Figures::Towel(towel)) => (towel.inspect_wash_count, towel.demote_wash_count),
        _ => (None, None),
    };
    v1::BundleState {
        clean_count: clean_count.max(0),
        soiled_count: state.soiled_count.max(0),
        drying_count,
        wash_count: state.wash_count,
        grade: words::towel_grade_word(state.grade),
        inspect_wash_count: inspect.unwrap_or_default(),
        demote_wash_count: demote.unwrap_or_default(),
    }
}

fn bottle(state: &BottleState, figures: Option<&Figures>) -> v1::BottleState {
    v1::BottleState {
        left_ul: state.left_ul.ul(),
        full_ul: state.full_ul.ul(),
        tare_mg: state.tare_mg.map(|mass| mass.mg()),
        lot: state.lot.clone(),
        expiry_date: state.expiry.map(|day| day.to_string()).unwrap_or_default(),
        opened_time: state.opened_at.map(moment),
        measured_time: state.measured_at.map(moment),
        grade: match figures {
            Some(Figures::Liquid(liquid)) => words::grade_word(liquid.grade),
            _ => 0,
        },
        found_tare_mg: state.found_tare_mg.map(|mass| mass.mg()),
        waiting_gross_mg: state.waiting.as_ref().map(|weight| weight.gross_mg.mg()),
        waiting_time: state.waiting.as_ref().map(|weight| moment(weight.at)),
        jobs_left_count: None,
    }
}

/// A piece with the jobs that are left in it, if it is a bottle.
pub(in crate::edge) fn piece_with_jobs<'a>(
    book: &'a Book,
    held: &'a Piece,
    now: Moment,
    prices: Prices,
    jobs: &mut BottleJobs<'a>,
) -> v1::Piece {
    let mut shown = piece(book, held, now, prices);
    if let Some(v1::piece::State::Bottle(bottle)) = &mut shown.state {
        bottle.jobs_left_count = jobs.left(held);
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_model::Seq;

    fn held(state: State, readiness: Readiness) -> Piece {
        Piece {
            tag: "T-01".parse().unwrap(),
            make: "edgeless-towel-400-g".parse().unwrap(),
            place: "bench".parse().unwrap(),
            received_at: "2026-06-01T08:00:00Z".parse().unwrap(),
            readiness,
            since: "2026-06-01T08:00:00Z".parse().unwrap(),
            needs_count: false,
            last_seq: Seq(3),
            state,
            cost: None,
            used: None,
            counted: None,
            washes: Default::default(),
            labelled_at: None,
        }
    }

    fn at(text: &str) -> Moment {
        text.parse().unwrap()
    }

    /// A state as a journal tells it.
    fn state(told: &str) -> State {
        serde_json::from_str(told).unwrap()
    }

    #[test]
    fn what_dries_is_shown_ready_from_the_moment_it_is_dry() {
        let dry_at = at("2026-06-02T18:00:00Z");
        let towels = state(
            r#"{"bundle": {"clean_count": 4, "soiled_count": 1, "drying_count": 6, "wash_count": 2,
                "grade": "residue"}}"#,
        );
        let drying = held(towels, Readiness::Drying(dry_at));
        let shown = |now: &str| {
            let shown = piece(&Book::new(), &drying, at(now), Prices::Hidden);
            let Some(Shown::Bundle(bundle)) = shown.state else {
                panic!("not a bundle")
            };
            (
                shown.readiness,
                shown.ready_time,
                bundle.clean_count,
                bundle.drying_count,
            )
        };
        let before = shown("2026-06-02T17:59:59Z");
        assert_eq!(
            before,
            (v1::Readiness::Drying.into(), Some(moment(dry_at)), 4, 6)
        );
        let after = shown("2026-06-02T18:00:00Z");
        assert_eq!(after, (v1::Readiness::Ready.into(), None, 10, 0));
    }

    #[test]
    fn a_piece_whose_make_was_taken_back_is_still_shown() {
        let sundry = state(r#"{"sundry": {"left_quantity": 40, "counted_at": null}}"#);
        let shown = piece(
            &Book::new(),
            &held(sundry, Readiness::Ready),
            at("2026-06-02T08:00:00Z"),
            Prices::Hidden,
        );
        assert_eq!(shown.make_name, "");
        assert_eq!(
            shown.state,
            Some(Shown::Sundry(v1::SundryState {
                left_quantity: 40,
                unit: 0
            }))
        );
    }
}
