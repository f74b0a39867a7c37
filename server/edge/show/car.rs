//! Cars on the wire: all panels with their areas, or only what the user gave.
//!
//! It serves reading cars, and editing, which starts from what was given.

use fettlebook_contract::v1;
use fettlebook_model::job::{Car, PanelNote};
use fettlebook_model::plan::panels;
use fettlebook_model::policy::Policy;
use fettlebook_model::reach::{Part, Reach, Split};

use super::film;
use crate::edge::{etag, words};

/// The sentence of a car that is set up or edited.
pub(super) fn set_up(subject: &str, car: &Car) -> String {
    let class = car.class.to_string();
    let a = if class.starts_with(['a', 'e', 'i', 'o']) {
        "an"
    } else {
        "a"
    };
    let note = if car.note.is_empty() {
        String::new()
    } else {
        format!(", {}", car.note)
    };
    format!("{subject}: set up as {a} {class}{note}.")
}

/// The car with every panel it has, each with the area the model works with.
pub(in crate::edge) fn car(car: &Car, policy: &Policy) -> v1::Car {
    let note_of = |panel| car.panels.iter().find(|note| note.panel == panel);
    let caution_um = film::caution_line(policy).um();
    let shown = panels(car, policy).into_iter().map(|facts| v1::Panel {
        area_mm2: facts.area.mm2(),
        lowest_film_um: facts.film.map(|film| film.um()),
        above_caution_um: facts.film.map(|film| film.um().saturating_sub(caution_um)),
        basis: words::area_basis_word(facts.basis),
        usual_reach: words::reach_word(Reach::usual(facts.panel)),
        ..note_of(facts.panel).map_or_else(
            || v1::Panel {
                panel: facts.panel.to_string(),
                ..v1::Panel::default()
            },
            given,
        )
    });
    v1::Car {
        panels: shown.collect(),
        ..as_given(car)
    }
}

/// The car as it was given, without what is worked out.
pub(in crate::edge) fn as_given(car: &Car) -> v1::Car {
    let mut shown = v1::Car {
        etag: String::new(),
        car: car.id.to_string(),
        class: words::car_class_word(car.class),
        note: car.note.clone(),
        length_mm: car.dimensions.map(|size| size.length().mm()),
        width_mm: car.dimensions.map(|size| size.width().mm()),
        height_mm: car.dimensions.map(|size| size.height().mm()),
        panels: car.panels.iter().map(given).collect(),
    };
    shown.etag = etag::of(&shown);
    shown
}

fn given(note: &PanelNote) -> v1::Panel {
    v1::Panel {
        panel: note.panel.to_string(),
        left_out: note.left_out,
        film_um: note.film_um.map(|film| film.um()),
        measured_mm2: note.area_mm2.map(|area| area.mm2()),
        parts: note.split.iter().flat_map(Split::parts).map(part).collect(),
        ..v1::Panel::default()
    }
}

fn part(part: &Part) -> v1::PanelPart {
    v1::PanelPart {
        reach: words::reach_word(part.reach),
        permille: part.permille,
    }
}

#[cfg(test)]
mod tests {
    use super::set_up;
    use fettlebook_model::car::CarClass;
    use fettlebook_model::job::Car;

    #[test]
    fn each_class_has_its_article() {
        let told = |class| {
            let car = Car {
                id: "one".parse().unwrap(),
                class,
                note: "grey".to_owned(),
                dimensions: None,
                panels: Vec::new(),
                film: Default::default(),
            };
            set_up("one", &car)
        };
        assert_eq!(told(CarClass::Estate), "one: set up as an estate, grey.");
        assert_eq!(
            told(CarClass::MediumSaloon),
            "one: set up as a medium-saloon, grey."
        );
    }
}
