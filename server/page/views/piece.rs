//! A piece, as the code of its label opens it: how it stands, what can be told of it, what happened to it.

use axum::extract::Path;
use axum::http::StatusCode;
use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{GetPieceLifeRequest, GetPieceLifeResponse, LifePoint, Piece};
use fettlebook_quantity::{Mass, Volume};
use minijinja::{Value, context};

use super::{Answer, go_to, tag_of};
use crate::asker::Asker;
use crate::form::Asked;
use crate::limits::LIFE_ROWS;
use crate::words::{self, Clock};
use crate::{refusal, templates};

/// Width and height of the picture of a piece's wear, in its own units.
const PICTURE: (f64, f64) = (300.0, 100.0);

/// Leads to the piece whose tag was typed.
pub(crate) async fn sought(Asked(asked): Asked) -> Answer {
    let tag = tag_of(asked.first("tag"));
    let is_of_tag = |letter: char| letter.is_ascii_alphanumeric() || letter == '-';
    if tag.is_empty() || !tag.chars().all(is_of_tag) {
        let text = "That is no tag. A tag has letters, a hyphen and a number, such as P-07.";
        return Err(refusal::not_understood(text).into());
    }
    Ok(go_to(&format!("/t/{tag}")))
}

/// The view.
pub(crate) async fn show(asker: Asker, Path(typed): Path<String>) -> Answer {
    let here = asker.here().await?;
    let tag = tag_of(&typed);
    let life = asker.call(GetPieceLifeRequest { tag }).await?;
    let piece = life.piece.clone().unwrap_or_default();
    let clock = Clock::own();
    let shown = life.points.iter().rev().take(LIFE_ROWS);
    let told = context! {
        tag => piece.tag.as_str(),
        make => piece.make_name.as_str(),
        place => piece.place.as_str(),
        standing => words::standing(&piece, &clock),
        figure => words::figure(&piece),
        facts => facts(&piece, &life, &clock),
        washable => matches!(piece.state, Some(State::Pad(_) | State::Bundle(_))),
        weighable => matches!(piece.state, Some(State::Bottle(_))),
        curve => curve(&life.points),
        rating => rating(&life.points),
        life => shown.map(|point| lived(point, &piece.tag, &clock)).collect::<Value>(),
        more => life.points.len().saturating_sub(LIFE_ROWS),
    };
    let title = piece.tag.clone();
    let page = templates::page(StatusCode::OK, "piece.html", Some(&here), &title, told);
    Ok(page)
}

/// What there is to say of a piece of its sort, each with what it is called.
fn facts(piece: &Piece, life: &GetPieceLifeResponse, clock: &Clock) -> Value {
    let mut facts: Vec<(&str, String)> = Vec::new();
    match &piece.state {
        Some(State::Pad(pad)) => {
            facts.push(("Uses", pad.use_count.to_string()));
            facts.push(("Washes", pad.wash_count.to_string()));
            facts.push((
                "Face",
                words::quantity(pad.face_mm, fettlebook_contract::v1::Unit::Millimetre),
            ));
        }
        Some(State::Plate(plate)) => {
            let rated = plate.rated_speed_per_min;
            let rated = rated.map_or_else(
                || "not known".to_owned(),
                |speed| format!("{speed} per minute"),
            );
            facts.push(("Rated speed", rated));
            facts.push(("Ran", words::time(plate.run_time_s)));
            facts.push(("Pad changes", plate.change_count.to_string()));
        }
        Some(State::Bundle(bundle)) => facts.push(("Washes", bundle.wash_count.to_string())),
        Some(State::Bottle(bottle)) => {
            facts.push(("Full", Volume::from_ul(bottle.full_ul).to_string()));
            let tare = bottle.tare_mg.or(bottle.found_tare_mg);
            let tare = tare.map_or_else(
                || "not known".to_owned(),
                |mg| Mass::from_mg(mg).to_string(),
            );
            facts.push(("Empty weight", tare));
            facts.push(("Lot", bottle.lot.clone()));
            facts.push(("Use by", words::day(&bottle.expiry_date)));
            let measured = clock.moment_or_none(bottle.measured_time.as_ref());
            facts.push(("Last weighed or counted", measured));
        }
        Some(State::Tool(tool)) => facts.push(("Check due", words::day(&tool.check_due_date))),
        Some(State::Battery(battery)) => {
            facts.push(("Charges", battery.charge_count.to_string()));
        }
        Some(State::Machine(_) | State::Sundry(_)) | None => {}
    }
    if let Some(left) = &life.left {
        if let Some(jobs) = &left.jobs_left {
            let (low, typical, high) = (jobs.low, jobs.typical, jobs.high);
            let told = format!(
                "{typical:.0} jobs, nine in ten {low:.0} or more, one in ten over {high:.0}"
            );
            facts.push(("Will last", told));
        }
        facts.push(("That rests on", left.rests_on.clone()));
    }
    facts.push(("Came", clock.moment_or_none(piece.received_time.as_ref())));
    let known = facts.into_iter().filter(|(_, said)| !said.is_empty());
    known.map(|(name, said)| context! { name, said }).collect()
}

/// An entry of its life.
fn lived(point: &LifePoint, tag: &str, clock: &Clock) -> Value {
    let entry = point.entry.clone().unwrap_or_default();
    let of_it = entry.deeds.iter().filter(|deed| deed.subject == tag);
    let texts: Vec<_> = of_it.map(|deed| deed.text.as_str()).collect();
    let after = point
        .damage
        .map(|damage| format!("{} worn", words::percent(damage)))
        .or_else(|| {
            point
                .left_ul
                .map(|left| format!("{} left", Volume::from_ul(left)))
        });
    context! {
        seq => entry.seq,
        when => clock.moment_or_none(entry.done_time.as_ref()),
        by => entry.by,
        text => texts.join(" "),
        after => after.unwrap_or_default(),
        reversed => entry.reversed_by_seq.is_some(),
    }
}

/// Wear after each entry.
fn damages(points: &[LifePoint]) -> Vec<f64> {
    points.iter().filter_map(|point| point.damage).collect()
}

/// The wear that the top of the picture stands for: the rating, or more where there was more.
fn most(damages: &[f64]) -> f64 {
    damages.iter().copied().fold(1.0, f64::max)
}

/// Where the line of the rating is in the picture.
fn rating(points: &[LifePoint]) -> String {
    let (_, height) = PICTURE;
    format!("{:.1}", height - height / most(&damages(points)))
}

/// The corners of the curve of wear, an entry after the other; empty where there is no curve to draw.
fn curve(points: &[LifePoint]) -> String {
    let damages = damages(points);
    let (width, height) = PICTURE;
    let Some(steps) = u32::try_from(damages.len()).ok().filter(|count| *count > 1) else {
        return String::new();
    };
    let step = width / f64::from(steps.saturating_sub(1));
    let most = most(&damages);
    let corners = (0..steps).zip(&damages).map(|(at, damage)| {
        let (x, y) = (f64::from(at) * step, height - damage / most * height);
        format!("{x:.1},{y:.1}")
    });
    corners.collect::<Vec<_>>().join(" ")
}
