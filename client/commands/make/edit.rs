//! `make edit ID`: changes figures of a make.
//!
//! It serves corrections and new prices. Only what is given is changed; an option of another sort of
//! make is refused by its name.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{Grade, MachineAction, Make, Money, PadMaterial, UpdateMakeRequest};
use prost_types::FieldMask;

use super::figures as read;
use crate::commands::common::{AsRead, record};
use crate::commands::receive::figures_of;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options::{self, Stock};
use crate::render::Printer;
use crate::request;
use crate::word;

/// What `make edit` takes.
#[derive(Args, Clone, Debug)]
pub(crate) struct Edit {
    /// Id of the make
    #[arg(value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) make: String,
    /// Name as said
    #[arg(long, value_name = "TEXT")]
    name: Option<String>,
    /// Price of one pack, for example '18.90 EUR'
    #[arg(long, value_name = "PRICE", value_parser = options::money)]
    price: Option<Money>,
    /// Pieces in a pack at that price
    #[arg(long, value_name = "COUNT", value_parser = read::whole)]
    pack: Option<i64>,
    /// GHS hazard codes from the data sheet, for example H225,H319
    #[arg(long, value_name = "CODES", value_delimiter = ',')]
    ghs: Option<Vec<String>>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
    /// Pad, liquid: grade
    #[arg(long, value_name = "WORD", value_parser = word::parser::<Grade>())]
    grade: Option<Grade>,
    /// Pad, towel: drying time after a wash, for example '24 h'
    #[arg(long, value_name = "TIME", value_parser = read::seconds)]
    dry: Option<i64>,
    /// Pad: material of the face
    #[arg(long, value_name = "WORD", value_parser = word::parser::<PadMaterial>())]
    material: Option<PadMaterial>,
    /// Pad: diameter of the face, for example '150 mm'
    #[arg(long, value_name = "LENGTH", value_parser = read::millimetres)]
    face: Option<i64>,
    /// Pad: rated work, in reference sections
    #[arg(long, value_name = "SECTIONS", value_parser = read::whole)]
    rated_work: Option<i64>,
    /// Pad: washes it is rated for
    #[arg(long, value_name = "COUNT", value_parser = read::whole)]
    rated_washes: Option<i64>,
    /// Pad: sections before it is changed in a job
    #[arg(long, value_name = "SECTIONS", value_parser = read::whole)]
    load: Option<i64>,
    /// Pad: life of a typical one as you have seen it, in reference sections
    #[arg(long, value_name = "SECTIONS", value_parser = read::whole)]
    typical_life: Option<i64>,
    /// Pad: life that 19 in 20 exceed, in reference sections
    #[arg(long, value_name = "SECTIONS", value_parser = read::whole)]
    least_life: Option<i64>,
    /// Plate, machine: thread as marked
    #[arg(long, value_name = "THREAD")]
    thread: Option<String>,
    /// Plate: diameter, for example '125 mm'
    #[arg(long, value_name = "LENGTH", value_parser = read::millimetres)]
    diameter: Option<i64>,
    /// Plate: rated speed as marked on it, for example 12000/min
    #[arg(long, value_name = "SPEED", value_parser = read::speed)]
    rated_speed: Option<i64>,
    /// Plate: rated running time, for example '300 h'
    #[arg(long, value_name = "HOURS", value_parser = read::hours)]
    rated_run: Option<i64>,
    /// Plate: pad changes its hook face is rated for
    #[arg(long, value_name = "COUNT", value_parser = read::whole)]
    rated_changes: Option<i64>,
    /// Machine: how it moves the pad
    #[arg(long, value_name = "WORD", value_parser = word::parser::<MachineAction>())]
    action: Option<MachineAction>,
    /// Machine: diameter of the orbit, for example '15 mm'
    #[arg(long, value_name = "LENGTH", value_parser = read::millimetres)]
    throw: Option<i64>,
    /// Machine: highest speed marked on it, for example 4800/min
    #[arg(long, value_name = "SPEED", value_parser = read::speed)]
    max_speed: Option<i64>,
    /// Machine: speed it is usually worked at
    #[arg(long, value_name = "SPEED", value_parser = read::speed)]
    work_speed: Option<i64>,
    /// Machine: hand-arm vibration value, for example '5.2 m/s2'
    #[arg(long, value_name = "VALUE", value_parser = read::vibration)]
    vibration: Option<i64>,
    /// Machine: whether that value was measured at work
    #[arg(long, value_name = "true|false")]
    vibration_measured: Option<bool>,
    /// Machine: noise level at the ear, for example '82 dB'
    #[arg(long, value_name = "LEVEL", value_parser = read::noise)]
    noise: Option<i64>,
    /// Machine: whether it works spot-sized sections
    #[arg(long, value_name = "true|false")]
    spot: Option<bool>,
    /// Towel: weight of the cloth, for example '400 g/m2'
    #[arg(long, value_name = "WEIGHT", value_parser = read::cloth)]
    weight: Option<i64>,
    /// Towel: washes from which to inspect it
    #[arg(long, value_name = "COUNT", value_parser = read::whole)]
    inspect_from: Option<i64>,
    /// Towel: washes from which to take it down a grade
    #[arg(long, value_name = "COUNT", value_parser = read::whole)]
    demote_from: Option<i64>,
    /// Liquid: volume of a new bottle, for example '500 ml'
    #[arg(long, value_name = "VOLUME", value_parser = read::microlitres)]
    bottle: Option<i64>,
    /// Liquid: density, for example '1.05 g/ml'
    #[arg(long, value_name = "DENSITY", value_parser = read::density)]
    density: Option<i64>,
    /// Liquid: weight of the empty bottle with its cap, for example '45 g'
    #[arg(long, value_name = "WEIGHT", value_parser = read::milligrams)]
    tare: Option<i64>,
    /// Liquid: dots that prime a pad, by the label
    #[arg(long, value_name = "DOTS", value_parser = read::whole)]
    prime: Option<i64>,
    /// Liquid: dots for each further section, by the label
    #[arg(long, value_name = "DOTS", value_parser = read::whole)]
    refresh: Option<i64>,
    /// Sundry: what one piece holds as bought, for example '50 pairs'
    #[arg(long, value_name = "AMOUNT", value_parser = options::stock)]
    holds: Option<Stock>,
    #[command(flatten)]
    pub(crate) as_read: AsRead,
}

/// Changes the make.
pub(crate) async fn perform(
    session: &Session,
    args: &Edit,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let figures = figures_of(session, &args.make).await?;
    let (mut make, paths) = args.change(figures)?;
    make.etag = args.as_read.or(make.etag);
    let update = UpdateMakeRequest {
        request_id: request::new_id(),
        make: Some(make),
        update_mask: Some(FieldMask { paths }),
    };
    record(session, printer, update).await
}

/// Puts what was given into its field and names the field in the mask.
struct Change {
    paths: Vec<String>,
}

impl Change {
    fn put<T>(&mut self, path: &str, given: Option<T>, field: &mut T) {
        if let Some(value) = given {
            *field = value;
            self.paths.push(path.to_owned());
        }
    }

    fn put_optional<T>(&mut self, path: &str, given: Option<T>, field: &mut Option<T>) {
        if given.is_some() {
            *field = given;
            self.paths.push(path.to_owned());
        }
    }
}

impl Edit {
    /// The make with what was given, and the mask that names it.
    fn change(&self, figures: Option<Figures>) -> Result<(Make, Vec<String>), Fault> {
        let mut given = self.clone();
        let mut change = Change { paths: Vec::new() };
        let mut make = Make {
            make: self.make.clone(),
            ..Make::default()
        };
        change.put("name", given.name.take(), &mut make.name);
        change.put_optional("price", given.price.take(), &mut make.price);
        change.put("pack_count", given.pack.take(), &mut make.pack_count);
        change.put("ghs_codes", given.ghs.take(), &mut make.ghs_codes);
        change.put("note", given.note.take(), &mut make.note);
        let mut figures = figures;
        match &mut figures {
            Some(Figures::Pad(pad)) => given.pad(&mut change, pad),
            Some(Figures::Plate(plate)) => given.plate(&mut change, plate),
            Some(Figures::Machine(machine)) => given.machine(&mut change, machine),
            Some(Figures::Towel(towel)) => given.towel(&mut change, towel),
            Some(Figures::Liquid(liquid)) => given.liquid(&mut change, liquid),
            Some(Figures::Sundry(sundry)) => given.sundry(&mut change, sundry),
            None => {}
        }
        make.figures = figures;
        if let Some(option) = given.left() {
            return Err(Fault::usage(
                option,
                format!(
                    "{} is a {}, which has no {option}.",
                    self.make,
                    crate::render::make::sort(&make)
                ),
            ));
        }
        if change.paths.is_empty() {
            return Err(Fault::usage(
                "make edit",
                "Nothing to change was given; --help lists what can be.",
            ));
        }
        Ok((make, change.paths))
    }
}

mod sorts;

#[cfg(test)]
mod tests;
