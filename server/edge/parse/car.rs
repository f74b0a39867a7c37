//! Cars from the wire.
//!
//! It serves setting up and editing cars. Areas and their basis are worked out by the service; what
//! a client sends there is not looked at.

use fettlebook_contract::v1;
use fettlebook_model::car::Dimensions;
use fettlebook_model::film::FilmReadings;
use fettlebook_model::job::{Car, PanelNote};
use fettlebook_model::reach::{Part, Split};
use fettlebook_model::{Book, Command, Reason, Refusal};
use fettlebook_quantity::{Area, Length, Thickness};

use super::{id, message, panel_group};
use crate::edge::status::EdgeError;
use crate::edge::{mask, show, words};

pub(in crate::edge) fn create(sent: v1::CreateCarRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::CreateCar {
        car: car(message("car", sent.car)?)?,
    })
}

pub(in crate::edge) fn edit(sent: v1::UpdateCarRequest, book: &Book) -> Result<Command, EdgeError> {
    let fields = message("car", sent.car)?;
    let id = id("car.car", &fields.car)?;
    let was = book
        .car(&id)
        .ok_or_else(|| Refusal::no_id(Reason::CarUnknown, "car.car", "car", &id))?;
    let held = show::car::as_given(was);
    let sent = (&fields, sent.update_mask);
    let car = mask::edited(book, "car", &held, sent, |edited, _| car(edited))?;
    Ok(Command::EditCar {
        was: Car::clone(was),
        car,
    })
}

/// A car.
pub(in crate::edge) fn car(sent: v1::Car) -> Result<Car, Refusal> {
    let mut panels = Vec::new();
    for panel in &sent.panels {
        if panel.panel.is_empty() {
            return Err(Refusal::missing(
                "car.panels.panel",
                "Give its word, such as bonnet.",
            ));
        }
        let split = split(panel)?;
        for one in panel_group("car.panels.panel", &panel.panel)? {
            let note = PanelNote {
                split: split.clone(),
                panel: one,
                area_mm2: panel.measured_mm2.map(Area::from_mm2),
                left_out: panel.left_out,
                film_um: panel.film_um.map(Thickness::from_um),
            };
            // A word for several adds to what was said of single ones.
            if panel.panel.parse() != Ok(one)
                && let Some(said) = panels
                    .iter_mut()
                    .find(|said: &&mut PanelNote| said.panel == one)
            {
                said.area_mm2 = note.area_mm2.or(said.area_mm2);
                said.film_um = note.film_um.or(said.film_um);
                said.left_out |= note.left_out;
                said.split = note.split.or_else(|| said.split.take());
                continue;
            }
            let says_something = note.area_mm2.is_some() || note.film_um.is_some();
            if says_something || note.left_out || note.split.is_some() {
                panels.push(note);
            }
        }
    }
    Ok(Car {
        id: id("car.car", &sent.car)?,
        class: words::required("car.class", words::car_class("car.class", sent.class)?)?,
        dimensions: dimensions(&sent)?,
        note: sent.note,
        panels,
        film: FilmReadings::default(),
    })
}

/// The parts of a panel; nothing where it takes what is usual.
fn split(sent: &v1::Panel) -> Result<Option<Split>, Refusal> {
    const FIELD: &str = "car.panels.parts";
    if sent.parts.is_empty() {
        return Ok(None);
    }
    let parts = sent.parts.iter().map(|part| {
        let reach = words::reach("car.panels.parts.reach", part.reach)?;
        Ok(Part {
            reach: words::required("car.panels.parts.reach", reach)?,
            permille: part.permille,
        })
    });
    let split = Split::new(parts.collect::<Result<_, Refusal>>()?);
    split.map(Some).map_err(|error| {
        Refusal::invalid(
            FIELD,
            format!("{}: {error}.", sent.panel),
            "Give each part of the panel to one reach, so that together they are all of it.",
        )
    })
}

fn dimensions(sent: &v1::Car) -> Result<Option<Dimensions>, Refusal> {
    if sent.length_mm.is_none() && sent.width_mm.is_none() && sent.height_mm.is_none() {
        return Ok(None);
    }
    let given = |field: &str, size: Option<i64>| {
        let size = size.map(Length::from_mm);
        size.ok_or_else(|| Refusal::missing(field, "Give length, width and height, all three."))
    };
    let length = given("car.length_mm", sent.length_mm)?;
    let width = given("car.width_mm", sent.width_mm)?;
    let height = given("car.height_mm", sent.height_mm)?;
    Dimensions::new(length, width, height)
        .map(Some)
        .map_err(|error| {
            Refusal::quantity(
                &format!("car.{}_mm", error.field()),
                format!("`{error}`."),
                "",
            )
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_model::car::CarClass;
    use fettlebook_model::panel::Panel;
    use fettlebook_model::reach::Reach;

    fn saloon() -> Car {
        let mm = Length::from_mm;
        let part = |reach, permille| Part { reach, permille };
        let parts = vec![part(Reach::Big, 900), part(Reach::Spot, 100)];
        Car {
            id: "medium-saloon-silver".parse().unwrap(),
            class: CarClass::MediumSaloon,
            note: "silver".to_owned(),
            dimensions: Some(Dimensions::new(mm(4_700), mm(1_830), mm(1_440)).unwrap()),
            panels: vec![
                PanelNote {
                    panel: Panel::Bonnet,
                    area_mm2: Some(Area::from_mm2(1_400_000)),
                    left_out: false,
                    film_um: Some(Thickness::from_um(110)),
                    split: Split::new(parts).ok(),
                },
                PanelNote {
                    panel: Panel::Roof,
                    area_mm2: None,
                    left_out: true,
                    film_um: None,
                    split: None,
                },
            ],
            film: FilmReadings::default(),
        }
    }

    #[test]
    fn a_car_comes_back_from_the_wire_as_it_was() {
        assert_eq!(car(show::car::as_given(&saloon())), Ok(saloon()));
    }

    #[test]
    fn what_was_read_can_be_sent_back() {
        let shown = show::car::car(&saloon(), &fettlebook_model::policy::Policy::default());
        assert_eq!(car(shown), Ok(saloon()));
    }

    #[test]
    fn one_word_may_speak_of_several_panels() {
        let mut sent = show::car::as_given(&saloon());
        sent.panels = vec![v1::Panel {
            panel: "sills".to_owned(),
            left_out: true,
            ..v1::Panel::default()
        }];
        let panels = car(sent).unwrap().panels;
        assert_eq!(panels.len(), 2);
        assert!(panels.iter().all(|note| note.left_out));
    }

    #[test]
    fn a_word_for_several_adds_to_what_is_said_of_one() {
        let mut sent = show::car::as_given(&saloon());
        let film_um = |panel: &str, film_um| v1::Panel {
            panel: panel.to_owned(),
            film_um,
            ..v1::Panel::default()
        };
        let spot = v1::PanelPart {
            reach: v1::Reach::Spot.into(),
            permille: 1_000,
        };
        sent.panels = vec![
            film_um("sill-left", Some(90)),
            v1::Panel {
                parts: vec![spot],
                ..film_um("sills", None)
            },
        ];
        let panels = car(sent).unwrap().panels;
        let film: Vec<_> = panels.iter().map(|note| note.film_um).collect();
        assert_eq!(film, [Some(Thickness::from_um(90)), None]);
        assert!(panels.iter().all(|note| note.split.is_some()));
    }

    #[test]
    fn parts_of_a_panel_that_are_not_all_of_it_are_refused() {
        for (permille, said) in [
            (900, "given to no machine"),
            (1_000, "given to two machines"),
        ] {
            let mut sent = show::car::as_given(&saloon());
            sent.panels[0].parts[0].permille = permille;
            let parts = &mut sent.panels[0].parts;
            parts[1].permille = if permille == 900 { 50 } else { 1 };
            let refused = car(sent).unwrap_err();
            assert_eq!(refused.field, "car.panels.parts");
            assert!(refused.to_string().contains(said), "{refused}");
        }
    }

    #[test]
    fn outer_dimensions_are_given_together_and_within_what_a_car_can_be() {
        let mut sent = show::car::as_given(&saloon());
        sent.width_mm = None;
        let refused = car(sent.clone()).unwrap_err();
        assert_eq!(
            (refused.reason, refused.field.as_str()),
            (Reason::FieldMissing, "car.width_mm")
        );
        sent.width_mm = Some(18_300);
        let refused = car(sent).unwrap_err();
        assert_eq!(
            (refused.reason, refused.field.as_str()),
            (Reason::QuantityInvalid, "car.width_mm")
        );
    }
}
