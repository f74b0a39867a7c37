//! The storeroom of the simulated shop: its opening kit, and what is there and on its way as anybody
//! can see it.
//!
//! It serves the ways to order, which all look at the same shelves, and the bill. The routine of the
//! first comparison gets towels, gloves and tape.

use fettlebook_model::Book;
use fettlebook_model::Command;
use fettlebook_model::command::Receipt;
use fettlebook_model::job::SundryNeed;
use fettlebook_model::kit::{Piece, Readiness, State};
use fettlebook_model::make::{Figures, Make, SundryFigures, TowelFigures, Unit};
use fettlebook_model::pick::is_demotable;
use fettlebook_model::towel::TowelGrade;

use crate::ledger::{LIQUIDS, Ledger, PADS, id};
use crate::market::{GLOVES, TAPE, TERN, TOWEL, WARES, piece_price, suppliers};

/// Pieces there at the beginning, by ware.
const OPENING: [i64; WARES.len()] = [20, 14, 2, 2, 48, 2, 4];

/// A book with suppliers, the routine with all it takes, and the opening kit.
pub(crate) fn open_shop() -> Ledger {
    let mut ledger = Ledger::set_up();
    for make in [
        make(TOWEL, towel()),
        make(GLOVES, sundry(Unit::Pair, 50)),
        make(TAPE, sundry(Unit::Millimetre, 50_000)),
    ] {
        ledger.say(&Command::CreateMake { make });
    }
    let was = ledger
        .book
        .routine(&id("two-step"))
        .unwrap()
        .as_ref()
        .clone();
    let mut routine = was.clone();
    routine.towel_make = Some(id(TOWEL));
    routine.sundries = vec![need(GLOVES, 2, 0), need(TAPE, 6_000, 1_000)];
    ledger.say(&Command::EditRoutine { was, routine });
    for supplier in suppliers() {
        ledger.say(&Command::CreateSupplier { supplier });
    }
    ledger
}

/// Pieces of the opening kit, by make.
pub(crate) fn opening_kit() -> impl Iterator<Item = (&'static str, i64)> {
    WARES.iter().map(|ware| ware.make).zip(OPENING)
}

/// What comes without an order.
pub(crate) fn receipt(make: &str, pieces: i64) -> Receipt {
    let (piece_count, towel_count) = if make == TOWEL {
        (1, pieces)
    } else {
        (pieces, 0)
    };
    Receipt {
        towel_count,
        ..fettlebook_shed::receipt(make, piece_count)
    }
}

fn need(make: &str, per_job_quantity: i64, per_m2_quantity: i64) -> SundryNeed {
    SundryNeed {
        make: id(make),
        per_job_quantity,
        per_m2_quantity,
    }
}

fn towel() -> Figures {
    Figures::Towel(TowelFigures {
        weight_g_per_m2: 400,
        inspect_wash_count: None,
        demote_wash_count: None,
        dry_time_s: None,
    })
}

fn sundry(unit: Unit, pack_quantity: i64) -> Figures {
    Figures::Sundry(SundryFigures {
        unit,
        pack_quantity,
    })
}

fn make(name: &str, figures: Figures) -> Make {
    Make {
        id: id(name),
        name: name.replace('-', " "),
        price: None,
        pack_count: 1,
        ghs: Vec::new(),
        note: String::new(),
        figures,
        filled: None,
    }
}

/// Pieces of a make in the kit, parts of bottles and packs as parts; towels as far as they may still
/// touch paint.
pub(crate) fn pieces_there(book: &Book, make: &str) -> f64 {
    let id = id(make);
    book.pieces_of(&id)
        .map(|piece| pieces_in(book, piece))
        .sum()
}

/// Pieces of a make that are on their way.
pub(crate) fn pieces_coming(book: &Book, make: &str) -> f64 {
    let lines = book
        .orders()
        .filter(|order| order.is_on_its_way())
        .flat_map(|order| &order.lines)
        .filter(|line| line.make.as_str() == make);
    lines
        .map(|line| (line.open_pack_count() * line.pieces_per_pack) as f64)
        .sum()
}

fn pieces_in(book: &Book, piece: &Piece) -> f64 {
    match &piece.state {
        State::Bottle(bottle) => bottle.left_ul.ul().max(0) as f64 / bottle.full_ul.ul() as f64,
        State::Bundle(bundle) => {
            let is_for_paint = bundle.grade == TowelGrade::Residue && !is_demotable(book, piece);
            if is_for_paint {
                bundle.total_count() as f64
            } else {
                0.0
            }
        }
        State::Sundry(sundry) => {
            let Figures::Sundry(figures) = &book.make(&piece.make).unwrap().figures else {
                return 0.0;
            };
            sundry.left_quantity.max(0) as f64 / figures.pack_quantity as f64
        }
        State::Pad(_) => 1.0,
        State::Plate(_) | State::Machine(_) | State::Tool(_) | State::Battery(_) => 0.0,
    }
}

/// Value of the stock at cost: all of it, and what nobody has used or opened yet. What came without a
/// price counts at that of Tern Quay Supplies.
pub(crate) fn stock_value(book: &Book) -> (f64, f64) {
    let (mut all, mut unused) = (0.0, 0.0);
    for ware in &WARES {
        let id = id(ware.make);
        for piece in book.pieces_of(&id) {
            let there = pieces_in(book, piece);
            let value = there * piece_cost(book, piece, ware.make);
            all += value;
            if is_unused(piece) && piece.readiness == Readiness::Ready {
                unused += value;
            }
        }
    }
    (all, unused)
}

/// What one whole pad, bottle, towel or pack cost.
pub(crate) fn piece_cost(book: &Book, piece: &Piece, make: &str) -> f64 {
    let Some(cost) = piece.cost else {
        return piece_price(TERN, make);
    };
    let landed = f64::try_from(cost.landed.amount).unwrap();
    let pieces = match &book.make(&piece.make).unwrap().figures {
        Figures::Towel(_) => cost.quantity as f64,
        _ => 1.0,
    };
    landed / pieces
}

fn is_unused(piece: &Piece) -> bool {
    match &piece.state {
        State::Pad(pad) => pad.use_count == 0,
        State::Bottle(bottle) => bottle.opened_at.is_none(),
        State::Bundle(bundle) => bundle.wash_count == 0 && bundle.soiled_count == 0,
        State::Sundry(_)
        | State::Plate(_)
        | State::Machine(_)
        | State::Tool(_)
        | State::Battery(_) => true,
    }
}

/// Pads that must be there to go round: while one set dries the other works, each with its spare, as
/// the largest car needs them.
pub(crate) fn going_round(ledger: &Ledger, make: &str) -> i64 {
    let plans = ledger.plans();
    let of_job = |at: usize| {
        let pads = plans.iter().map(|plan| {
            let step = &plan.steps[at];
            step.pad_count + step.spare_count
        });
        pads.max().unwrap()
    };
    if let Some(at) = PADS.iter().position(|pad| *pad == make) {
        2 * of_job(at)
    } else if make == TOWEL {
        2 * plans.iter().map(|plan| plan.towel_count).max().unwrap()
    } else {
        0
    }
}

/// Whether a make is a liquid.
pub(crate) fn is_liquid(make: &str) -> bool {
    LIQUIDS.contains(&make)
}
