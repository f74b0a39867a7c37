//! The kit on one page, and one piece with what happened to it.
//!
//! They serve `kit list` and `kit show`. State is told in words; the gauge and its colour repeat it.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{
    AsideReason, BatteryState, BinReason, BottleState, BundleState, GetPieceLifeResponse, Grade,
    Inspection, PadState, Piece, PlateState, Readiness, SundryState, ToolState, TowelGrade, Unit,
};

use crate::render::screen::{Screen, day, several};
use crate::render::table::{Column, sheet, table};
use crate::render::{amount, entry, gauge, given, life, tint, wear};
use crate::word::word;

/// Entries shown under a piece.
pub(crate) const ENTRIES_SHOWN: usize = 5;

/// What is said where nothing in the kit is as it was asked for.
pub(crate) const NONE_SO: &str = "Nothing in the kit is so. 'fettle kit list' shows all there is.";

/// The kit, a line a piece.
pub(crate) fn list(screen: &Screen, pieces: &[Piece]) -> String {
    if pieces.is_empty() {
        return "No kit to show. 'fettle make add' sets up a make, 'fettle receive' takes pieces in."
            .to_owned();
    }
    let place = pieces.first().map(|piece| &piece.place);
    let one_place = pieces.iter().all(|piece| Some(&piece.place) == place);
    let mut headings = vec![
        ("Tag", Column::Whole),
        ("What", Column::Name),
        ("Where", Column::Text),
        ("State", Column::Text),
        ("Wear", Column::Whole),
        ("Left", Column::Right),
    ];
    // Where all is at one place, it is said once, below.
    headings.retain(|(name, _)| !one_place || *name != "Where");
    let laid_out = |said: Drying| {
        let rows = pieces.iter().map(|piece| {
            let mut cells = vec![piece.tag.clone(), piece.make_name.clone()];
            cells.extend(Some(piece.place.clone()).filter(|_| !one_place));
            cells.push(standing_so(screen, piece, said));
            cells.push(worn(screen, piece));
            cells.push(left(piece));
            cells
        });
        table(screen, &headings, rows)
    };
    let (full, short) = (laid_out(Drying::InFull), laid_out(Drying::InShort));
    // In short where that saves rows.
    let text = if short.lines().count() < full.lines().count() {
        short
    } else {
        full
    };
    match place.filter(|place| one_place && !place.is_empty()) {
        Some(place) => format!("{text}\nAll at {place}."),
        None => text,
    }
}

/// How a piece stands, in full.
pub(crate) fn standing(screen: &Screen, piece: &Piece) -> String {
    standing_so(screen, piece, Drying::InFull)
}

/// How a list says when a piece is dry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Drying {
    /// `drying until Thu 26 Nov 12:00`
    InFull,
    /// `dry Thu 12:00`, where a row has no room for more.
    InShort,
}

/// The state, with the wear band where it is no more sound, what towels are for and when a tool is due.
fn standing_so(screen: &Screen, piece: &Piece, drying: Drying) -> String {
    let mut text = state(screen, piece, drying);
    let more = match &piece.state {
        Some(State::Pad(pad)) => gauge::band(pad.band()),
        Some(State::Plate(plate)) => gauge::band(plate.band()),
        Some(State::Battery(battery)) => gauge::band(battery.band()),
        Some(State::Bundle(bundle)) => towel_grade(bundle.grade()),
        Some(State::Tool(tool)) => check_due(tool),
        _ => String::new(),
    };
    let is_short_day = drying == Drying::InShort && piece.readiness() == Readiness::Drying;
    if !more.is_empty() {
        text.push_str(if is_short_day { " " } else { ", " });
        text.push_str(&more);
    }
    text
}

/// Readiness in words, with the reason or the time, and a mark where a count is due.
fn state(screen: &Screen, piece: &Piece, said: Drying) -> String {
    let mut text = match piece.readiness() {
        Readiness::Unspecified => String::new(),
        Readiness::Ready => match &piece.state {
            Some(State::Bundle(bundle)) => towels(bundle),
            Some(State::Battery(battery)) => charged(screen, battery),
            _ => tint::good("ready"),
        },
        Readiness::Soiled => match &piece.state {
            Some(State::Bundle(bundle)) => towels(bundle),
            _ => tint::warn("soiled"),
        },
        Readiness::Drying => {
            let drying = match &piece.state {
                Some(State::Bundle(bundle)) => towels(bundle),
                _ => tint::warn("drying"),
            };
            match (&piece.ready_time, said, &piece.state) {
                (None, _, _) => format!("{drying} until it is said to be dry"),
                (Some(until), Drying::InFull, _) => {
                    format!("{drying} until {}", screen.near_moment(until))
                }
                (Some(until), Drying::InShort, Some(State::Bundle(_))) => {
                    format!("{drying} to {}", screen.hour_of_week(until))
                }
                (Some(until), Drying::InShort, _) => {
                    format!("{} {}", tint::warn("dry"), screen.hour_of_week(until))
                }
            }
        }
        Readiness::Aside => because("aside", &aside_word(piece.aside_reason())),
        Readiness::Binned => because("binned", &bin_word(piece.bin_reason())),
    };
    if piece.needs_count {
        text.push_str(", ");
        text.push_str(&tint::warn("count it"));
    }
    if !piece.taken_for_jobs.is_empty() {
        let jobs = piece.taken_for_jobs.join(", ");
        text.push_str(&format!(", taken for {jobs}"));
    }
    text
}

fn because(state: &str, reason: &str) -> String {
    if reason.is_empty() {
        tint::bad(state)
    } else {
        format!("{}: {reason}", tint::bad(state))
    }
}

fn aside_word(reason: AsideReason) -> String {
    match reason {
        AsideReason::Unspecified => String::new(),
        AsideReason::Dropped
        | AsideReason::CrossLoaded
        | AsideReason::Inspect
        | AsideReason::Other => word(reason),
    }
}

fn bin_word(reason: BinReason) -> String {
    if reason == BinReason::Unspecified {
        String::new()
    } else {
        word(reason)
    }
}

fn towels(bundle: &BundleState) -> String {
    let parts = [
        (bundle.clean_count, "clean"),
        (bundle.soiled_count, "soiled"),
        (bundle.drying_count, "drying"),
    ];
    let told: Vec<_> = parts
        .iter()
        .filter(|(count, name)| *count != 0 || *name == "clean")
        .map(|(count, name)| format!("{count} {name}"))
        .collect();
    told.join(", ")
}

/// How worn it is: a bar for pads and plates, hours of a machine, washes of towels.
fn worn(screen: &Screen, piece: &Piece) -> String {
    match &piece.state {
        Some(State::Pad(pad)) => gauge::bar(screen, pad.damage),
        Some(State::Plate(plate)) => gauge::bar(screen, plate.damage),
        Some(State::Battery(battery)) => gauge::bar(screen, battery.damage),
        Some(State::Machine(machine)) if machine.run_time_s > 0 => amount::time(machine.run_time_s),
        Some(State::Bundle(bundle)) => several(bundle.wash_count, "wash", "washes"),
        _ => String::new(),
    }
}

/// How much is left of what runs down.
pub(crate) fn left(piece: &Piece) -> String {
    match &piece.state {
        Some(State::Bottle(bottle)) => {
            // Whole millilitres where there are many: the scale tells no more.
            let left_ul = match bottle.left_ul {
                few @ ..10_000 => few,
                more => more.div_euclid(1_000).saturating_mul(1_000),
            };
            let left = amount::volume(left_ul);
            let jobs = bottle
                .jobs_left_count
                .map(|jobs| several(jobs, "job", "jobs"));
            jobs.map_or_else(|| left.clone(), |jobs| format!("{left}, {jobs}"))
        }
        Some(State::Sundry(sundry)) => amount::quantity(sundry.left_quantity, sundry.unit()),
        Some(State::Battery(battery)) if battery.full => amount::time(battery.run_time_s),
        _ => String::new(),
    }
}

/// Whether a battery is full, and when it will be.
fn charged(screen: &Screen, battery: &BatteryState) -> String {
    match &battery.full_time {
        _ if battery.full => tint::good("charged"),
        Some(full) => format!(
            "{} until {}",
            tint::warn("charging"),
            screen.near_moment(full)
        ),
        None => tint::warn("empty"),
    }
}

fn battery_rows(screen: &Screen, battery: &BatteryState) -> Vec<(&'static str, String)> {
    vec![
        (
            "A charge",
            format!("{} on paint", amount::time(battery.run_time_s)),
        ),
        ("How known", battery.rests_on.clone()),
        ("Charges", battery.charge_count.to_string()),
        ("Wear", gauge::wear(screen, battery.damage, battery.band())),
    ]
}

fn run(seconds: i64) -> String {
    if seconds == 0 {
        "not run yet".to_owned()
    } else {
        format!("{} run", amount::time(seconds))
    }
}

fn sundry_left(sundry: &SundryState) -> String {
    let unit = match sundry.unit() {
        Unit::Piece => return several(sundry.left_quantity, "piece", "pieces") + " left",
        unit => unit,
    };
    format!("{} left", amount::quantity(sundry.left_quantity, unit))
}

/// By when a tool is to be checked; empty for one that is not.
fn check_due(tool: &ToolState) -> String {
    match day(&tool.check_due_date) {
        due if due.is_empty() => due,
        due => format!("due by {due}"),
    }
}

fn towel_grade(grade: TowelGrade) -> String {
    match grade {
        TowelGrade::Unspecified => "no grade".to_owned(),
        TowelGrade::Final => "final wipe".to_owned(),
        TowelGrade::Residue | TowelGrade::Wheels | TowelGrade::Rag => word(grade),
        TowelGrade::ShutsAndGlass => "shuts and glass".to_owned(),
    }
}

/// One piece: its figures, what is left of it and how it came there, then its last entries, newest
/// first, each with how the piece stood after it.
pub(crate) fn show(screen: &Screen, life: &GetPieceLifeResponse) -> String {
    let Some(piece) = &life.piece else {
        return String::new();
    };
    let mut rows = vec![
        ("Tag", tint::strong(&piece.tag)),
        ("What", format!("{} ({})", piece.make_name, piece.make)),
        ("Where", piece.place.clone()),
        ("State", state(screen, piece, Drying::InFull)),
    ];
    match &piece.state {
        Some(State::Pad(pad)) => rows.extend(pad_rows(screen, pad)),
        Some(State::Plate(plate)) => rows.extend(plate_rows(screen, plate)),
        Some(State::Machine(machine)) => rows.push(("Use", run(machine.run_time_s))),
        Some(State::Bundle(bundle)) => rows.extend(bundle_rows(bundle)),
        Some(State::Bottle(bottle)) => {
            rows.extend(bottle_rows(screen, bottle, life.supply.is_some()));
        }
        Some(State::Sundry(sundry)) => rows.push(("Left", sundry_left(sundry))),
        Some(State::Battery(battery)) => rows.extend(battery_rows(screen, battery)),
        Some(State::Tool(tool)) => {
            rows.push(("For", word(tool.kind())));
            rows.push(("Check", check_due(tool)));
        }
        None => {}
    }
    if let Some(supply) = &life.supply {
        rows.extend(given::rows(screen, piece, supply));
    }
    rows.push((
        "What is left",
        life.left.as_ref().map_or_else(String::new, wear::left),
    ));
    rows.push(("Its life", life::line(screen, piece, &life.points)));
    rows.push((
        "Received",
        screen.moment_or(piece.received_time.as_ref(), ""),
    ));
    rows.push(("Landed cost", landed(piece)));
    let mut text = sheet(screen, rows);
    let gave = life
        .supply
        .as_ref()
        .map(|supply| given::list(screen, piece, supply));
    if let Some(gave) = gave.filter(|gave| !gave.is_empty()) {
        text.push_str("\n\n");
        text.push_str(&gave);
    }
    let entries = life::standing(&life.points);
    if !entries.is_empty() {
        text.push_str("\n\n");
        text.push_str(&entry::about(screen, &piece.tag, &entries, ENTRIES_SHOWN));
    }
    text
}

/// What a piece cost when it came; empty when it is not known.
fn landed(piece: &Piece) -> String {
    let cost = piece.landed_cost.as_ref();
    cost.map_or_else(String::new, |sum| {
        format!("{}, with its share of the freight", amount::money(sum))
    })
}

/// Whether a liquid that is coarser than fine was washed out of a pad.
fn washed_out(pad: &PadState) -> &'static str {
    match (pad.coarsest_liquid(), pad.unwashed_liquid()) {
        (Grade::Unspecified | Grade::Fine, _) => "",
        (_, Grade::Unspecified | Grade::Fine) => ", washed out",
        _ => ", not washed out",
    }
}

fn pad_rows(screen: &Screen, pad: &PadState) -> Vec<(&'static str, String)> {
    let carried = match pad.coarsest_liquid() {
        Grade::Unspecified => "nothing yet".to_owned(),
        grade @ (Grade::Coarse | Grade::Medium | Grade::Fine) => {
            format!("{} liquid at the coarsest{}", word(grade), washed_out(pad))
        }
    };
    vec![
        (
            "Face",
            format!(
                "{}, {}",
                amount::length(pad.face_mm),
                amount::grade(pad.grade())
            ),
        ),
        ("Wear", gauge::wear(screen, pad.damage, pad.band())),
        (
            "Worked",
            format!(
                "{} reference sections in {}",
                amount::sections(pad.work_micro_sections),
                several(pad.use_count, "use", "uses")
            ),
        ),
        ("Washes", pad.wash_count.to_string()),
        ("Has carried", carried),
        (
            "Last look",
            pad.inspected.as_ref().map_or_else(String::new, graded),
        ),
    ]
}

/// What a look at a washed pad found.
fn graded(found: &Inspection) -> String {
    format!(
        "rebound {}, edge {}, face {} (1 bad to 5 as new)",
        found.rebound_grade, found.edge_grade, found.face_grade
    )
}

fn plate_rows(screen: &Screen, plate: &PlateState) -> Vec<(&'static str, String)> {
    vec![
        ("Wear", gauge::wear(screen, plate.damage, plate.band())),
        ("Use", run(plate.run_time_s)),
        ("Pad changes", plate.change_count.to_string()),
        (
            "Rated speed",
            plate.rated_speed_per_min.map_or_else(
                || "not marked; read it off the plate".to_owned(),
                |speed| format!("{speed}/min"),
            ),
        ),
    ]
}

fn bundle_rows(bundle: &BundleState) -> Vec<(&'static str, String)> {
    vec![
        ("Towels", towels(bundle)),
        ("For", towel_grade(bundle.grade())),
        (
            "Washes",
            format!(
                "{} (inspect from {}, take down a grade from {})",
                bundle.wash_count, bundle.inspect_wash_count, bundle.demote_wash_count
            ),
        ),
    ]
}

/// The weight of the empty bottle, as said or worked out, or what says it.
fn empty_weight(screen: &Screen, bottle: &BottleState) -> String {
    let how = "weigh a full one of its make, or give the make's --tare";
    match (
        bottle.tare_mg,
        bottle.found_tare_mg,
        bottle.waiting_gross_mg,
    ) {
        (Some(tare), ..) => amount::mass(tare),
        (None, Some(tare), _) => format!("{}, as worked out", amount::mass(tare)),
        (None, None, Some(gross)) => format!(
            "not known; {} of {} wait for it: {how}",
            amount::mass(gross),
            screen.moment_or(bottle.waiting_time.as_ref(), "no known time"),
        ),
        (None, None, None) => format!("not known; {how}"),
    }
}

/// The rows of a bottle; where its jobs are told with more, they are left out here.
fn bottle_rows(
    screen: &Screen,
    bottle: &BottleState,
    has_jobs_told: bool,
) -> Vec<(&'static str, String)> {
    let jobs_left = bottle.jobs_left_count.filter(|_| !has_jobs_told);
    vec![
        (
            "Left",
            format!(
                "{} {} of {}",
                gauge::level(screen, bottle.left_ul, bottle.full_ul),
                amount::volume(bottle.left_ul),
                amount::volume(bottle.full_ul)
            ),
        ),
        (
            "Jobs left",
            jobs_left.map_or_else(String::new, |jobs| {
                format!("{jobs}, by what the latest jobs take")
            }),
        ),
        ("Grade", amount::grade(bottle.grade())),
        ("Empty weight", empty_weight(screen, bottle)),
        ("Lot", bottle.lot.clone()),
        ("Use by", day(&bottle.expiry_date)),
        (
            "Opened",
            screen.moment_or(bottle.opened_time.as_ref(), "sealed"),
        ),
        (
            "Measured",
            screen.moment_or(bottle.measured_time.as_ref(), "never"),
        ),
    ]
}

#[cfg(test)]
mod tests {
    use fettlebook_contract::v1::{GetPieceLifeResponse, Piece, ToolKind};

    use super::{BottleState, State, ToolState, show};
    use crate::render::scenario::{bottle, plain, screen};

    fn page(piece: Piece) -> String {
        let life = GetPieceLifeResponse {
            piece: Some(piece),
            ..GetPieceLifeResponse::default()
        };
        plain(&show(&screen(120), &life))
    }

    fn of_bottle(said: Option<i64>, found: Option<i64>, waiting: Option<i64>) -> String {
        let mut piece = bottle();
        let state = BottleState {
            tare_mg: said,
            found_tare_mg: found,
            waiting_gross_mg: waiting,
            ..BottleState::default()
        };
        piece.state = Some(State::Bottle(state));
        page(piece)
    }

    #[test]
    fn an_empty_weight_is_told_as_said_as_worked_out_or_as_what_waits_for_it() {
        let told = of_bottle(Some(62_000), Some(61_000), None);
        assert!(told.contains("Empty weight  62 g\n"), "{told}");
        let told = of_bottle(None, Some(61_000), None);
        assert!(told.contains("Empty weight  61 g, as worked out"), "{told}");
        let told = of_bottle(None, None, Some(245_000));
        assert!(
            told.contains("245 g of") && told.contains("weigh a full one"),
            "{told}"
        );
        let told = of_bottle(None, None, None);
        assert!(told.contains("not known; weigh a full one"), "{told}");
    }

    #[test]
    fn a_tool_says_what_it_is_for_and_by_when_it_is_to_be_checked() {
        let mut state = ToolState {
            check_due_date: "2027-06-30".to_owned(),
            ..ToolState::default()
        };
        state.set_kind(ToolKind::FilmGauge);
        let piece = Piece {
            state: Some(State::Tool(state)),
            ..bottle()
        };
        let told = page(piece);
        assert!(
            told.contains("film-gauge") && told.contains("due by Wed 30 Jun 2027"),
            "{told}"
        );
    }
}
