//! Cars from the wire.
//!
//! It serves setting up and editing cars. Areas and their basis are worked out by the service; what
//! a client sends there is not looked at.

use fettlebook_contract::v1;
use fettlebook_model::car::Dimensions;
use fettlebook_model::job::{Car, PanelNote};
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
        for one in panel_group("car.panels.panel", &panel.panel)? {
            let note = PanelNote {
                panel: one,
                area_mm2: panel.measured_mm2.map(Area::from_mm2),
                left_out: panel.left_out,
                film_um: panel.film_um.map(Thickness::from_um),
            };
            if note.area_mm2.is_some() || note.left_out || note.film_um.is_some() {
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

    fn saloon() -> Car {
        let mm = Length::from_mm;
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
                },
                PanelNote {
                    panel: Panel::Roof,
                    area_mm2: None,
                    left_out: true,
                    film_um: None,
                },
            ],
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
