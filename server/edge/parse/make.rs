//! Makes from the wire.
//!
//! It serves setting up and editing makes. Whether the figures can be true is for the model to say.

use fettlebook_contract::v1;
use fettlebook_contract::v1::make::Figures as Sent;
use fettlebook_model::battery::BatteryFigures;
use fettlebook_model::hazard::{HazardCode, HazardCodeError};
use fettlebook_model::make::{
    Figures, FilledFigure, LiquidFigures, MachineFigures, Make, PadFigures, PlateFigures,
    SundryFigures, TowelFigures,
};
use fettlebook_model::plate::Thread;
use fettlebook_model::tool::ToolFigures;
use fettlebook_model::{Book, Command, Reason, Refusal};
use fettlebook_quantity::{Length, Mass, Seconds, Volume, field_words};

use super::{id, message, open_money};
use crate::edge::prices::Prices;
use crate::edge::status::EdgeError;
use crate::edge::{mask, show, words};

pub(in crate::edge) fn create(sent: v1::CreateMakeRequest, _: &Book) -> Result<Command, Refusal> {
    let make = new_make(message("make", sent.make)?)?;
    Ok(Command::CreateMake { make })
}

/// A make that is to be set up.
pub(super) fn new_make(mut sent: v1::Make) -> Result<Make, Refusal> {
    if sent.pack_count == 0 {
        sent.pack_count = 1;
    }
    make(sent)
}

pub(in crate::edge) fn edit(
    sent: v1::UpdateMakeRequest,
    book: &Book,
) -> Result<Command, EdgeError> {
    let fields = message("make", sent.make)?;
    let id = id("make.make", &fields.make)?;
    let was = book
        .make(&id)
        .ok_or_else(|| Refusal::no_id(Reason::MakeUnknown, "make.make", "make", &id))?;
    let held = show::make::make(was, Prices::Shown, book.policy());
    let sent = (&fields, sent.update_mask);
    let edited = mask::edited(book, "make", &held, sent, |edited, paths| {
        let filled = Some(still_filled(was, book, &edited, paths));
        make(edited).map(|make| Make { filled, ..make })
    })?;
    Ok(Command::EditMake {
        was: Make::clone(was),
        make: edited,
    })
}

/// Figures that a make has from the policy and that an edit does not name: what it names is given, be it as
/// it was.
fn still_filled(was: &Make, book: &Book, edited: &v1::Make, paths: &[String]) -> Vec<FilledFigure> {
    let is_named = |figure: &str| {
        let mut paths = paths.iter().map(|path| path.split_once('.'));
        paths.any(|path| path.is_some_and(|(_, named)| named == figure))
    };
    let whole_sort = |path: &String| {
        let mut from = edited.policy_figures.iter();
        from.any(|from| from.figure.split_once('.').map(|(sort, _)| sort) == Some(path))
    };
    if paths.iter().any(whole_sort) {
        return Vec::new();
    }
    let from = was.from_policy(book.policy()).into_iter();
    let figures = from.map(|from| from.figure);
    figures
        .filter(|figure| !is_named(figure.as_str()))
        .collect()
}

/// A make.
pub(in crate::edge) fn make(sent: v1::Make) -> Result<Make, Refusal> {
    let ghs = sent
        .ghs_codes
        .iter()
        .map(|code| hazard_code("make.ghs_codes", code));
    Ok(Make {
        id: id("make.make", &sent.make)?,
        name: sent.name,
        price: open_money("make.price", sent.price.as_ref())?,
        pack_count: sent.pack_count,
        ghs: ghs.collect::<Result<_, _>>()?,
        note: sent.note,
        figures: figures(sent.figures)?,
        filled: None,
    })
}

fn figures(sent: Option<Sent>) -> Result<Figures, Refusal> {
    match sent {
        Some(Sent::Pad(pad)) => Ok(Figures::Pad(PadFigures {
            material: words::required(
                "make.pad.material",
                words::material("make.pad.material", pad.material)?,
            )?,
            grade: words::required("make.pad.grade", words::grade("make.pad.grade", pad.grade)?)?,
            face_mm: Length::from_mm(pad.face_mm),
            rated_work_sections: pad.rated_work_sections,
            rated_wash_count: pad.rated_wash_count,
            load_sections: pad.load_sections,
            dry_time_s: pad.dry_time_s.map(Seconds::from_s),
            typical_life_sections: pad.typical_life_sections,
            least_life_sections: pad.least_life_sections,
        })),
        Some(Sent::Plate(plate)) => Ok(Figures::Plate(PlateFigures {
            diameter_mm: Length::from_mm(plate.diameter_mm),
            thread: thread("make.plate.thread", &plate.thread)?,
            rated_speed_per_min: plate.rated_speed_per_min,
            rated_run_h: plate.rated_run_h,
            rated_change_count: plate.rated_change_count,
        })),
        Some(Sent::Machine(machine)) => self::machine(&machine).map(Figures::Machine),
        Some(Sent::Towel(towel)) => Ok(Figures::Towel(TowelFigures {
            weight_g_per_m2: towel.weight_g_per_m2,
            inspect_wash_count: towel.inspect_wash_count,
            demote_wash_count: towel.demote_wash_count,
            dry_time_s: towel.dry_time_s.map(Seconds::from_s),
        })),
        Some(Sent::Liquid(liquid)) => Ok(Figures::Liquid(LiquidFigures {
            grade: words::required(
                "make.liquid.grade",
                words::grade("make.liquid.grade", liquid.grade)?,
            )?,
            bottle_ul: Volume::from_ul(liquid.bottle_ul),
            density_mg_per_ml: liquid.density_mg_per_ml,
            tare_mg: liquid.tare_mg.map(Mass::from_mg),
            prime_dot_count: liquid.prime_dot_count,
            refresh_dot_count: liquid.refresh_dot_count,
        })),
        Some(Sent::Sundry(sundry)) => Ok(Figures::Sundry(SundryFigures {
            unit: words::required(
                "make.sundry.unit",
                words::unit("make.sundry.unit", sundry.unit)?,
            )?,
            pack_quantity: sundry.pack_quantity,
        })),
        Some(Sent::Tool(tool)) => Ok(Figures::Tool(ToolFigures {
            kind: words::required(
                "make.tool.kind",
                words::tool_kind("make.tool.kind", tool.kind)?,
            )?,
        })),
        Some(Sent::Battery(battery)) => self::battery(&battery).map(Figures::Battery),
        None => Err(Refusal::missing(
            "make.figures",
            "Give the figures of its sort: pad, plate, machine, towel, liquid, sundry, tool or battery.",
        )),
    }
}

fn machine(sent: &v1::MachineFigures) -> Result<MachineFigures, Refusal> {
    Ok(MachineFigures {
        action: words::required(
            "make.machine.action",
            words::action("make.machine.action", sent.action)?,
        )?,
        throw_mm: Length::from_mm(sent.throw_mm.unwrap_or(0)),
        thread: thread("make.machine.thread", &sent.thread)?,
        max_speed_per_min: sent.max_speed_per_min,
        work_speed_per_min: sent.work_speed_per_min,
        vibration_mm_per_s2: sent.vibration_mm_per_s2,
        vibration_measured: sent.vibration_measured,
        noise_db: sent.noise_db,
        spot: sent.spot,
        cordless: sent.cordless,
    })
}

fn battery(sent: &v1::BatteryFigures) -> Result<BatteryFigures, Refusal> {
    let machines = sent.machine_makes.iter();
    let machines = machines.map(|make| id("make.battery.machine_makes", make));
    Ok(BatteryFigures {
        machines: machines.collect::<Result<_, _>>()?,
        run_time_s: Seconds::from_s(sent.run_time_s),
        charge_time_s: sent.charge_time_s.map(Seconds::from_s),
        rated_charge_count: sent.rated_charge_count,
    })
}

/// A hazard code.
pub(in crate::edge) fn hazard_code(field: &str, text: &str) -> Result<HazardCode, Refusal> {
    text.parse()
        .map_err(|error: HazardCodeError| Refusal::invalid(field, format!("{error}."), ""))
}

/// A thread that has to be given.
pub(in crate::edge) fn thread(field: &str, text: &str) -> Result<Thread, Refusal> {
    if text.is_empty() {
        return Err(Refusal::missing(
            field,
            "Give the thread as marked, such as M8, or none where there is none.",
        ));
    }
    text.parse()
        .map_err(|error: fettlebook_model::plate::ThreadError| {
            Refusal::invalid(field, format!("The {}: {error}.", field_words(field)), "")
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_model::make::{Grade, PadMaterial, Unit};
    use fettlebook_model::money::Money;
    use fettlebook_model::policy::Policy;
    use fettlebook_model::tool::ToolKind;
    use fettlebook_model::wear::Action;

    fn of(figures: Figures) -> Make {
        Make {
            id: "some-make".parse().unwrap(),
            name: "some make".to_owned(),
            price: Some(Money::parse("18.90", "EUR").unwrap()),
            pack_count: 3,
            ghs: vec!["H225".parse().unwrap(), "EUH066".parse().unwrap()],
            note: "on the shelf".to_owned(),
            figures,
            filled: None,
        }
    }

    fn one_of_each_sort() -> [Figures; 8] {
        [
            Figures::Pad(PadFigures {
                material: PadMaterial::Microfibre,
                grade: Grade::Medium,
                face_mm: Length::from_mm(150),
                rated_work_sections: Some(55),
                rated_wash_count: None,
                load_sections: Some(12),
                dry_time_s: Some(Seconds::from_s(172_800)),
                typical_life_sections: Some(70),
                least_life_sections: Some(30),
            }),
            Figures::Plate(PlateFigures {
                diameter_mm: Length::from_mm(125),
                thread: "M8".parse().unwrap(),
                rated_speed_per_min: Some(12_000),
                rated_run_h: Some(200),
                rated_change_count: None,
            }),
            Figures::Machine(MachineFigures {
                action: Action::Orbital,
                throw_mm: Length::from_mm(15),
                thread: "5/8-11".parse().unwrap(),
                max_speed_per_min: 5_500,
                work_speed_per_min: Some(4_500),
                vibration_mm_per_s2: Some(2_500),
                vibration_measured: true,
                noise_db: Some(83),
                spot: true,
                cordless: true,
            }),
            Figures::Towel(TowelFigures {
                weight_g_per_m2: 400,
                inspect_wash_count: Some(25),
                demote_wash_count: Some(50),
                dry_time_s: None,
            }),
            Figures::Liquid(LiquidFigures {
                grade: Grade::Fine,
                bottle_ul: Volume::from_ul(500_000),
                density_mg_per_ml: Some(1_050),
                tare_mg: Some(Mass::from_mg(60_500)),
                prime_dot_count: Some(4),
                refresh_dot_count: Some(0),
            }),
            Figures::Sundry(SundryFigures {
                unit: Unit::Pair,
                pack_quantity: 50,
            }),
            Figures::Tool(ToolFigures {
                kind: ToolKind::FilmGauge,
            }),
            Figures::Battery(BatteryFigures {
                machines: vec!["orbital-75".parse().unwrap()],
                run_time_s: Seconds::from_s(1_500),
                charge_time_s: Some(Seconds::from_s(3_600)),
                rated_charge_count: None,
            }),
        ]
    }

    fn shown(sort: usize) -> v1::Make {
        let make = of(one_of_each_sort()[sort].clone());
        show::make::make(&make, Prices::Shown, &Policy::default())
    }

    #[test]
    fn a_make_of_every_sort_comes_back_from_the_wire_as_it_was() {
        for figures in one_of_each_sort() {
            let held = of(figures);
            assert_eq!(
                make(show::make::make(&held, Prices::Shown, &Policy::default())),
                Ok(held)
            );
        }
    }

    #[test]
    fn a_required_word_that_is_not_said_is_named() {
        let mut sent = shown(0);
        let Some(Sent::Pad(pad)) = &mut sent.figures else {
            panic!("not a pad")
        };
        pad.material = 0;
        let refused = make(sent.clone()).unwrap_err();
        assert_eq!(
            (refused.reason, refused.field.as_str()),
            (Reason::FieldMissing, "make.pad.material")
        );
        sent.figures = None;
        assert_eq!(make(sent).unwrap_err().field, "make.figures");
    }

    #[test]
    fn a_number_that_is_no_word_is_refused() {
        let mut sent = shown(5);
        sent.figures = Some(Sent::Sundry(v1::SundryFigures {
            unit: 99,
            pack_quantity: 1,
        }));
        let refused = make(sent).unwrap_err();
        assert_eq!(
            (refused.reason, refused.field.as_str()),
            (Reason::FieldInvalid, "make.sundry.unit")
        );
    }
}
