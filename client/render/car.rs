//! Cars by class and colour, with their panels.
//!
//! It serves `car list` and `car show`. Where an area is estimated, the page says by what.

use fettlebook_contract::v1::{AreaBasis, Car, CarClass, GetCarResponse, Panel, PanelPart, Reach};

use crate::render::screen::Screen;
use crate::render::table::{Column, sheet, table};
use crate::render::{amount, film, tint};
use crate::word::word;

/// Cars, a line each.
pub(crate) fn list(screen: &Screen, cars: &[Car]) -> String {
    if cars.is_empty() {
        return "No cars yet. 'fettle car add' sets one up.".to_owned();
    }
    table(
        screen,
        &[
            ("Car", Column::Text),
            ("Class", Column::Text),
            ("Polished", Column::Right),
            ("Note", Column::Text),
        ],
        cars.iter().map(|car| {
            vec![
                car.car.clone(),
                class(car.class()),
                amount::area(polished_mm2(car)),
                car.note.clone(),
            ]
        }),
    )
}

/// A class as it is said.
fn class(class: CarClass) -> String {
    word(class).replace('-', " ")
}

fn polished_mm2(car: &Car) -> i64 {
    car.panels
        .iter()
        .filter(|panel| !panel.left_out)
        .map(|panel| panel.area_mm2)
        .fold(0, i64::saturating_add)
}

/// How an area is known, as it is said.
pub(crate) fn basis(basis: AreaBasis) -> &'static str {
    match basis {
        AreaBasis::Unspecified => "",
        AreaBasis::Measured => "measured",
        AreaBasis::Class => "by class",
        AreaBasis::Dimensions => "by dimensions, within about 20 %",
    }
}

fn known(panel: &Panel) -> String {
    panel.measured_mm2.map_or_else(
        || basis(panel.basis()).to_owned(),
        |flat| format!("measured, {} flat", amount::area(flat)),
    )
}

/// What takes a panel where machines share a step: one of them, or several each a part.
pub(crate) fn takes(panel: &Panel) -> String {
    match panel.parts.as_slice() {
        [] if panel.usual_reach() == Reach::Unspecified => "usual".to_owned(),
        [] => word(panel.usual_reach()),
        [whole] => word(whole.reach()),
        parts => {
            let part = |part: &PanelPart| {
                format!("{} {}", word(part.reach()), amount::percent(part.permille))
            };
            parts.iter().map(part).collect::<Vec<_>>().join(", ")
        }
    }
}

/// One car with its panels, and its film as far as it was read.
pub(crate) fn show(screen: &Screen, answer: &GetCarResponse) -> String {
    let none = Car::default();
    let shown = panels(screen, answer.car.as_ref().unwrap_or(&none));
    match film::known(screen, answer) {
        Some(film) => format!("{shown}\n\n{film}"),
        None => shown,
    }
}

fn panels(screen: &Screen, car: &Car) -> String {
    let size = [car.length_mm, car.width_mm, car.height_mm]
        .iter()
        .flatten()
        .map(|mm| amount::length(*mm))
        .collect::<Vec<_>>()
        .join(" × ");
    let top = sheet(
        screen,
        [
            ("Car", tint::strong(&car.car)),
            ("Class", class(car.class())),
            ("Size", size),
            ("Polished", amount::area(polished_mm2(car))),
            ("Note", car.note.clone()),
        ],
    );
    let panels = table(
        screen,
        &[
            ("Panel", Column::Text),
            ("Area", Column::Right),
            ("Known", Column::Text),
            ("Lowest film", Column::Right),
            ("Takes", Column::Text),
            ("", Column::Text),
        ],
        car.panels.iter().map(|panel| {
            vec![
                panel.panel.clone(),
                amount::area(panel.area_mm2),
                known(panel),
                panel
                    .lowest_film_um
                    .map_or_else(|| "not read".to_owned(), amount::film),
                takes(panel),
                if panel.left_out {
                    "left out".to_owned()
                } else {
                    String::new()
                },
            ]
        }),
    );
    format!("{top}\n\n{panels}")
}
