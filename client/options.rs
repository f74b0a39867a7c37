//! The small grammars of options that join a name and an amount: `B-03=412g`, `P-07=9:torn`.
//!
//! They serve `log`, `wash`, `weigh`, `count`, `receive` and the figures of makes. What is unclear is refused
//! with the accepted forms; nothing is guessed. What a figure may be is the service's to say.

use fettlebook_contract::v1::{
    AsideReason, BinReason, Inspection, LiquidAmount, Money, PadUse, Swap, Unit, Weighing,
    liquid_amount::Amount as Liquid,
};
use fettlebook_quantity::{AMOUNT_FORMS, Amount, parse_amount, parse_count, parse_mass};

use crate::fault::Fault;

/// `NAME=REST`, both there.
fn split<'a>(text: &'a str, forms: &str) -> Result<(&'a str, &'a str), String> {
    text.split_once('=')
        .map(|(name, rest)| (name.trim(), rest.trim()))
        .filter(|(name, rest)| !name.is_empty() && !rest.is_empty())
        .ok_or_else(|| format!("'{text}' is not written as {forms}"))
}

/// Reads a weigh-in, `B-03=412g`.
pub(crate) fn weighing(text: &str) -> Result<Weighing, String> {
    let (bottle, weight) = split(text, "BOTTLE=WEIGHT, for example B-03=412g")?;
    let gross = parse_mass(weight).map_err(|error| error.to_string())?;
    Ok(Weighing {
        bottle: bottle.to_owned(),
        gross_mg: gross.mg(),
    })
}

/// Reads a pad's part in a job: `P-07:torn`, `P-07=9`, `P-07=9:dropped`.
pub(crate) fn pad_use(text: &str) -> Result<PadUse, String> {
    const FORMS: &str = "P-07:torn, P-07:dropped, P-07=9 or P-07=9:torn";
    let (worked, found) = match text.split_once(':') {
        Some((worked, found)) => (worked, Some(found.trim())),
        None => (text, None),
    };
    let (tag, sections) = match worked.split_once('=') {
        Some((tag, sections)) => (tag.trim(), Some(sections)),
        None => (worked.trim(), None),
    };
    if tag.is_empty() {
        return Err(format!("'{text}' names no pad; write {FORMS}"));
    }
    let mut pad = PadUse {
        tag: tag.to_owned(),
        ..PadUse::default()
    };
    if let Some(sections) = sections {
        let count = parse_count(sections).map_err(|error| error.to_string())?;
        pad.section_count = Some(count.get());
    }
    match found.map(finding).transpose()? {
        Some(Finding::Found(reason)) => pad.found = reason.into(),
        Some(Finding::Aside(reason)) => pad.aside = reason.into(),
        None => {}
    }
    Ok(pad)
}

enum Finding {
    Found(BinReason),
    Aside(AsideReason),
}

/// What inspection of a pad after a job may find.
const FINDINGS: &str = "torn, peeling, cupped, glazed, matted or worn (it leaves the kit), dropped or cross-loaded \
     (it is set aside)";

fn finding(text: &str) -> Result<Finding, String> {
    let found = match text {
        "torn" => Finding::Found(BinReason::Torn),
        "peeling" => Finding::Found(BinReason::Peeling),
        "cupped" => Finding::Found(BinReason::Cupped),
        "glazed" => Finding::Found(BinReason::Glazed),
        "matted" => Finding::Found(BinReason::Matted),
        "worn" => Finding::Found(BinReason::Worn),
        "dropped" => Finding::Aside(AsideReason::Dropped),
        "cross-loaded" => Finding::Aside(AsideReason::CrossLoaded),
        _ => return Err(format!("'{text}' is not one of {FINDINGS}")),
    };
    Ok(found)
}

/// Reads what a look at a washed pad found: `P-01=rebound 4, edge 3, face 5`, in any order.
pub(crate) fn look(text: &str) -> Result<Inspection, String> {
    const FORMS: &str = "TAG=rebound N, edge N, face N with grades from 1 (bad) to 5 (as new), for example \
         'P-01=rebound 4, edge 3, face 5'";
    let (tag, found) = split(text, FORMS)?;
    let mut graded = [("rebound", None), ("edge", None), ("face", None)];
    for part in found.split(',').map(str::trim) {
        let (name, grade) = part
            .split_once(char::is_whitespace)
            .ok_or_else(|| format!("'{part}' has no grade; write {FORMS}"))?;
        let given = graded
            .iter_mut()
            .find_map(|(known, given)| (*known == name).then_some(given))
            .ok_or_else(|| format!("'{name}' is not looked at; write {FORMS}"))?;
        let grade = grade
            .trim()
            .parse::<i32>()
            .ok()
            .filter(|grade| (1..=5).contains(grade))
            .ok_or_else(|| format!("'{part}' is not a grade from 1 to 5; write {FORMS}"))?;
        if given.replace(grade).is_some() {
            return Err(format!("'{text}' grades the {name} twice; write {FORMS}"));
        }
    }
    let grade = |(name, given): (&str, Option<i32>)| {
        given.ok_or_else(|| format!("'{text}' does not grade the {name}; write {FORMS}"))
    };
    let [rebound, edge, face] = graded.map(grade);
    Ok(Inspection {
        tag: tag.to_owned(),
        rebound_grade: rebound?,
        edge_grade: edge?,
        face_grade: face?,
    })
}

/// Reads a swap, `P-02=P-09`: P-09 was used where P-02 was planned.
pub(crate) fn swap(text: &str) -> Result<Swap, String> {
    let (planned, used) = split(text, "PLANNED=USED, for example P-02=P-09")?;
    Ok(Swap {
        planned: planned.to_owned(),
        used: used.to_owned(),
    })
}

/// Towels of a job: fallen ones, or used ones of a bundle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Towels {
    /// Towels that fell and left the job.
    Dropped(i64),
    /// Towels used from a bundle.
    Used {
        /// Tag of the bundle.
        bundle: String,
        /// How many.
        count: i64,
    },
}

/// Reads `dropped=2` or `T-03=9`.
pub(crate) fn towels(text: &str) -> Result<Towels, String> {
    let (name, count) = split(text, "dropped=2 or BUNDLE=COUNT, for example T-03=9")?;
    let count = parse_count(count).map_err(|error| error.to_string())?.get();
    Ok(if name == "dropped" {
        Towels::Dropped(count)
    } else {
        Towels::Used {
            bundle: name.to_owned(),
            count,
        }
    })
}

/// Reads liquid used, `B-03=35ml` or `B-03=8 dots`.
pub(crate) fn liquid_use(text: &str) -> Result<(String, LiquidAmount), String> {
    const FORMS: &str = "BOTTLE=AMOUNT, for example B-03=35ml or 'B-03=8 dots'";
    let (bottle, amount) = split(text, FORMS)?;
    let amount = match parse_amount(amount).map_err(|error| error.to_string())? {
        Amount::Volume(volume) => Liquid::VolumeUl(volume.ul()),
        Amount::Dots(dots) => Liquid::DotCount(dots.get()),
        Amount::Mass(_) => {
            return Err(format!(
                "'{text}' gives a weight; weigh the bottle after the job and write --weigh \
                 {bottle}=WEIGHT, or write {FORMS}"
            ));
        }
        Amount::Length(_) | Amount::Pieces(_) => {
            return Err(format!("'{text}' has no volume; write {FORMS}"));
        }
    };
    Ok((
        bottle.to_owned(),
        LiquidAmount {
            amount: Some(amount),
        },
    ))
}

/// Reads `-roof`: a panel that was not worked.
pub(crate) fn panel_off(text: &str) -> Result<String, String> {
    text.trim()
        .strip_prefix('-')
        .filter(|panel| !panel.is_empty() && !panel.starts_with('-'))
        .map(str::to_owned)
        .ok_or_else(|| {
            format!(
                "'{text}' is not a panel with a minus before it; write for example -roof,-bonnet"
            )
        })
}

/// An amount of something that is counted or measured, before its unit is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Stock {
    /// How much, in the integer unit of `unit`.
    pub(crate) quantity: i64,
    /// What was written; a bare number is pieces.
    pub(crate) unit: Unit,
}

/// Reads an amount of stock: `50 pairs`, `300 ml`, `20 metres`, `3`.
pub(crate) fn stock(text: &str) -> Result<Stock, String> {
    let lower = text.trim().to_lowercase();
    let pairs = lower
        .strip_suffix("pairs")
        .or_else(|| lower.strip_suffix("pair"));
    if let Some(number) = pairs {
        return parse_count(number.trim())
            .map(|count| Stock {
                quantity: count.get(),
                unit: Unit::Pair,
            })
            .map_err(|error| error.to_string());
    }
    let (quantity, unit) = match parse_amount(text).map_err(|error| error.to_string())? {
        Amount::Volume(volume) => (volume.ul(), Unit::Microlitre),
        Amount::Length(length) => (length.mm(), Unit::Millimetre),
        Amount::Pieces(count) => (count.get(), Unit::Piece),
        Amount::Mass(_) | Amount::Dots(_) => {
            return Err(format!(
                "'{text}' is not how stock is kept; write {AMOUNT_FORMS} or 50 pairs"
            ));
        }
    };
    Ok(Stock { quantity, unit })
}

impl Stock {
    /// The quantity in the unit something is kept in; a bare number will do for pairs.
    ///
    /// # Errors
    /// When what was written measures something else.
    pub(crate) fn in_unit(self, unit: Unit, field: &str, of: &str) -> Result<i64, Fault> {
        if self.unit == unit || (self.unit == Unit::Piece && unit == Unit::Pair) {
            return Ok(self.quantity);
        }
        let forms = match unit {
            Unit::Microlitre => "a volume, for example 300 ml",
            Unit::Millimetre => "a length, for example 12 m",
            Unit::Pair => "pairs, for example 3 pairs",
            Unit::Piece => "whole pieces, for example 3",
            Unit::Micrometre | Unit::Unspecified => "another unit",
        };
        Err(Fault::usage(
            field,
            format!("{of} is kept in another unit; write {forms}."),
        ))
    }
}

/// Reads `S-01=2` or `S-02=30 ml`.
pub(crate) fn named_stock(text: &str) -> Result<(String, Stock), String> {
    let (name, amount) = split(text, "NAME=AMOUNT, for example S-01=2 or 'S-02=30 ml'")?;
    Ok((name.to_owned(), stock(amount)?))
}

/// Reads a sum of money, `18.90 EUR`.
pub(crate) fn money(text: &str) -> Result<Money, String> {
    const FORMS: &str = "write an amount with a point and an ISO 4217 code, for example 18.90 EUR";
    let refused = || format!("'{text}' is not a price; {FORMS}");
    let (amount, currency) = text
        .trim()
        .split_once(char::is_whitespace)
        .ok_or_else(refused)?;
    let currency = currency.trim();
    let (whole, cents) = amount.split_once('.').unwrap_or((amount, "0"));
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let named = currency.len() == 3 && currency.bytes().all(|byte| byte.is_ascii_alphabetic());
    if !digits(whole) || !digits(cents) || !named {
        return Err(refused());
    }
    Ok(Money {
        amount: amount.to_owned(),
        currency_code: currency.to_uppercase(),
    })
}

/// Reads a figure whose unit may be left out, scaled by a power of ten: `1.05 g/ml` with three
/// places is 1050.
pub(crate) fn figure(text: &str, units: &[&str], places: u32) -> Result<i64, String> {
    let forms = || {
        let unit = units.first().copied().unwrap_or_default();
        let number = if places == 0 { "12" } else { "1.05" };
        format!(
            "'{text}' is not written as a number with or without its unit, such as {number} {unit}"
        )
    };
    let lower = text.trim().to_lowercase().replace('²', "2");
    let number = units
        .iter()
        .find_map(|unit| lower.strip_suffix(unit))
        .unwrap_or(&lower)
        .trim();
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    let width = usize::try_from(places).unwrap_or_default();
    let plain = |digits: &str| digits.bytes().all(|byte| byte.is_ascii_digit());
    let pointed_in_vain = number.contains('.') && part.is_empty();
    if whole.is_empty() || !plain(whole) || !plain(part) || part.len() > width || pointed_in_vain {
        return Err(forms());
    }
    format!("{whole}{part:0<width$}")
        .parse()
        .map_err(|_| forms())
}

#[cfg(test)]
mod tests;
