//! The small grammars of options that join a name and an amount: `B-03=412g`, `P-07=9:torn`.
//!
//! They serve `log`, `wash`, `weigh`, `count`, `receive` and the figures of makes. What is unclear is refused
//! with the accepted forms; nothing is guessed. What a figure may be is the service's to say.

use fettlebook_contract::v1::{
    AsideReason, BatteryUse, BinReason, Inspection, LiquidAmount, PadUse, StepSets, Swap, Unit,
    Weighing, liquid_amount::Amount as Liquid,
};
use fettlebook_quantity::{
    Amount, Ratio, parse_amount, parse_count, parse_grams, parse_millilitres, parse_share,
};

use crate::fault::Fault;
use crate::{tags, word};

/// A tag as it stands on the label, where what was typed is one.
fn tag(text: &str) -> String {
    tags::spelt(text).unwrap_or_else(|| text.to_owned())
}

/// `NAME=REST`, both there; `NAME:REST` and `NAME REST` are the same.
fn split<'a>(text: &'a str, forms: &str) -> Result<(&'a str, &'a str), String> {
    text.split_once('=')
        .or_else(|| text.split_once(':'))
        .or_else(|| text.trim().split_once(char::is_whitespace))
        .map(|(name, rest)| (name.trim(), rest.trim()))
        .filter(|(name, rest)| !name.is_empty() && !rest.is_empty())
        .ok_or_else(|| format!("'{text}' is not written as {forms}"))
}

/// Reads a weigh-in, `B-03=412g`.
pub(crate) fn weighing(text: &str) -> Result<Weighing, String> {
    let (bottle, weight) = split(text, "BOTTLE=WEIGHT, for example B-03=412g")?;
    let gross = parse_grams(weight).map_err(|error| error.to_string())?;
    Ok(Weighing {
        bottle: tag(bottle),
        gross_mg: gross.mg(),
    })
}

/// Reads a pad's part in a job: `P-07:torn`, `P-07=9`, `P-07=9:dropped`.
pub(crate) fn pad_use(text: &str) -> Result<PadUse, String> {
    const FORMS: &str = "P-07:torn, P-07:dropped, P-07=9 or P-07=9:torn";
    let (worked, found) = match text.split_once(':').or_else(|| text.trim().split_once(' ')) {
        Some((worked, found)) => (worked, Some(found.trim())),
        None => (text, None),
    };
    let (named, sections) = match worked.split_once('=') {
        Some((named, rest))
            if rest.trim().starts_with(|c: char| c.is_alphabetic()) && found.is_none() =>
        {
            return pad_use(&format!("{named}:{rest}"));
        }
        Some((named, sections)) => (named.trim(), Some(sections)),
        None => (worked.trim(), None),
    };
    if named.is_empty() {
        return Err(format!("'{text}' names no pad; write {FORMS}"));
    }
    let mut pad = PadUse {
        tag: tag(named),
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

/// Whether a word is something that a look at a pad after a job may find.
pub(crate) fn is_finding(text: &str) -> bool {
    finding(text).is_ok()
}

/// What inspection of a pad after a job may find.
const FINDINGS: &str = "torn, peeling, cupped, glazed, matted or worn (it leaves the kit), dropped or cross-loaded \
     (it is set aside)";

fn finding(text: &str) -> Result<Finding, String> {
    let aside = word::find::<AsideReason>(text)
        .filter(|reason| matches!(reason, AsideReason::Dropped | AsideReason::CrossLoaded));
    if let Some(reason) = aside {
        return Ok(Finding::Aside(reason));
    }
    let failed = word::find::<BinReason>(text).filter(|reason| {
        matches!(
            reason,
            BinReason::Torn
                | BinReason::Peeling
                | BinReason::Cupped
                | BinReason::Glazed
                | BinReason::Matted
                | BinReason::Worn
        )
    });
    failed
        .map(Finding::Found)
        .ok_or_else(|| format!("'{text}' is not one of {FINDINGS}"))
}

/// Reads what a look at a washed pad found: `P-01=rebound 4, edge 3, face 5`, in any order.
pub(crate) fn look(text: &str) -> Result<Inspection, String> {
    const FORMS: &str = "TAG=rebound N, edge N, face N with grades from 1 (bad) to 5 (as new), for example \
         'P-01=rebound 4, edge 3, face 5'";
    let (named, found) = split(text, FORMS)?;
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
        tag: tag(named),
        rebound_grade: rebound?,
        edge_grade: edge?,
        face_grade: face?,
    })
}

/// Reads a swap, `P-02=P-09`: P-09 was used where P-02 was planned.
pub(crate) fn swap(text: &str) -> Result<Swap, String> {
    let arrows = text
        .replace("->", "=")
        .replace("=>", "=")
        .replace(['→', '>'], "=");
    let (planned, used) = split(&arrows, "PLANNED=USED, for example P-02=P-09")?;
    Ok(Swap {
        planned: tag(planned),
        used: tag(used),
    })
}

/// Reads a battery of a job, with how full it still was: `BT-01`, `BT-02=half`, `BT-02:30%`.
pub(crate) fn battery(text: &str) -> Result<BatteryUse, String> {
    const FORMS: &str = "BT-01, BT-02=half, BT-02=3/4 or BT-02=30%";
    let parted = text
        .split_once(['=', ':'])
        .or_else(|| text.trim().split_once(' '));
    let (named, left) = parted.map_or((text.trim(), ""), |(named, left)| {
        (named.trim(), left.trim())
    });
    if named.is_empty() {
        return Err(format!("'{text}' names no battery; write {FORMS}"));
    }
    let left_permille = match left.to_lowercase().as_str() {
        "" | "empty" | "flat" => Some(0),
        "full" => Some(1_000),
        "half" | "½" | "1/2" => Some(500),
        "quarter" | "¼" | "1/4" => Some(250),
        "¾" | "3/4" => Some(750),
        part => part
            .strip_suffix('%')
            .and_then(|percent| percent.trim().parse::<i64>().ok())
            .filter(|percent| (0..=100).contains(percent))
            .map(|percent| percent.saturating_mul(10)),
    };
    let left_permille = left_permille
        .ok_or_else(|| format!("'{left}' is not how full a battery is; write {FORMS}"))?;
    Ok(BatteryUse {
        battery: tag(named),
        left_permille,
    })
}

/// Towels of a job: fallen ones, or used ones of a bundle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Towels {
    /// Towels that fell and left the job.
    Dropped(i64),
    /// Towels used from a bundle.
    Used {
        /// Tag of the bundle; empty for the one that the job was planned with.
        bundle: String,
        /// How many.
        count: i64,
    },
}

/// Reads `dropped=2`, `T-03=9`, or `9` from the bundle that the job was planned with.
pub(crate) fn towels(text: &str) -> Result<Towels, String> {
    if let Ok(count) = parse_count(text) {
        let bundle = String::new();
        let count = count.get();
        return Ok(Towels::Used { bundle, count });
    }
    let (name, count) = split(text, "dropped=2 or BUNDLE=COUNT, for example T-03=9")?;
    let count = parse_count(count).map_err(|error| error.to_string())?.get();
    Ok(if matches!(name, "dropped" | "fell" | "drop") {
        Towels::Dropped(count)
    } else {
        Towels::Used {
            bundle: tag(name),
            count,
        }
    })
}

/// Liquid of a bottle, before it is known how much there was in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Poured {
    /// So much of it.
    Amount(LiquidAmount),
    /// All that was left in it.
    All,
}

/// Reads liquid used, `B-03=35ml`, `B-03=8 dots`, `B-03=35` for millilitres or `B-03=empty`.
pub(crate) fn liquid_use(text: &str) -> Result<(String, Poured), String> {
    const FORMS: &str = "BOTTLE=AMOUNT, for example B-03=35ml or 'B-03=8 dots'";
    let (bottle, written) = split(text, FORMS)?;
    if written.starts_with('+') {
        return Err(format!(
            "'{written}' begins with a plus; write all that was used from {bottle}, for example \
             {bottle}=35ml"
        ));
    }
    if matches!(
        written.to_lowercase().as_str(),
        "empty" | "all" | "all of it" | "the rest"
    ) {
        return Ok((tag(bottle), Poured::All));
    }
    let amount = match parse_amount(written).map_err(|error| error.to_string())? {
        Amount::Volume(volume) => Liquid::VolumeUl(volume.ul()),
        Amount::Dots(dots) => Liquid::DotCount(dots.get()),
        Amount::Pieces(_) if parse_millilitres(written).is_ok() => {
            let volume = parse_millilitres(written).map_err(|error| error.to_string())?;
            Liquid::VolumeUl(volume.ul())
        }
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
    let amount = Some(amount);
    Ok((tag(bottle), Poured::Amount(LiquidAmount { amount })))
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
    /// How much, in the integer unit of `unit`; of a share nothing.
    pub(crate) quantity: i64,
    /// What was written; a bare number is pieces.
    pub(crate) unit: Unit,
    /// What part of the whole, where that was written: `half`, `¾`.
    pub(crate) share: Option<Ratio>,
    /// Whether it was a number alone.
    pub(crate) is_bare: bool,
}

/// Reads an amount of stock: `50 pairs`, `300 ml`, `20 metres`, `3`, `half`.
pub(crate) fn stock(text: &str) -> Result<Stock, String> {
    let of = |quantity, unit| Stock {
        quantity,
        unit,
        share: None,
        is_bare: text.trim().bytes().all(|byte| byte.is_ascii_digit()),
    };
    if let Some(share) = parse_share(text) {
        return Ok(Stock {
            share: Some(share),
            ..of(0, Unit::Unspecified)
        });
    }
    let lower = text.trim().to_lowercase();
    let pairs = lower
        .strip_suffix("pairs")
        .or_else(|| lower.strip_suffix("pair"));
    if let Some(number) = pairs {
        return parse_count(number.trim())
            .map(|count| of(count.get(), Unit::Pair))
            .map_err(|error| error.to_string());
    }
    let (quantity, unit) = match parse_amount(text).map_err(|error| error.to_string())? {
        Amount::Volume(volume) => (volume.ul(), Unit::Microlitre),
        Amount::Length(length) => (length.mm(), Unit::Millimetre),
        Amount::Pieces(count) => (count.get(), Unit::Piece),
        Amount::Mass(_) => {
            return Err(format!(
                "'{text}' is a weight, and stock is kept in {AMOUNTS}; a bottle is weighed with its cap by \
                 'fettle weigh', for example fettle weigh B-03=412g"
            ));
        }
        Amount::Dots(_) => {
            return Err(format!(
                "'{text}' is not how stock is kept; write {AMOUNTS}"
            ));
        }
    };
    Ok(of(quantity, unit))
}

/// How stock is written.
const AMOUNTS: &str = "250 ml, 12 m, 50 pairs, 3 or half";

/// What stock is kept in, and what the whole of it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Kept {
    /// The unit.
    pub(crate) unit: Unit,
    /// What it holds when new, where that is known.
    pub(crate) full: Option<i64>,
}

impl Stock {
    /// The quantity in the unit something is kept in. A bare number will do for pairs, and is millilitres of
    /// a liquid and metres of a roll.
    ///
    /// # Errors
    /// When what was written measures something else, or is a share of what nobody knows.
    pub(crate) fn in_unit(self, kept: Kept, field: &str, of: &str) -> Result<i64, Fault> {
        const OF_A_WHOLE: i64 = 1_000;
        let Kept { unit, full } = kept;
        if let Some(share) = self.share {
            let full = full.ok_or_else(|| {
                let message =
                    format!("How much {of} holds is not known, so a share of it says nothing.");
                Fault::usage(field, message)
            })?;
            let part = i128::from(full) * i128::from(share.num()) / i128::from(share.den());
            return Ok(i64::try_from(part).unwrap_or(i64::MAX));
        }
        match (self.unit, unit) {
            (written, kept) if written == kept => return Ok(self.quantity),
            (Unit::Piece, Unit::Pair) | (Unit::Pair, Unit::Piece) => return Ok(self.quantity),
            (Unit::Piece, Unit::Microlitre | Unit::Millimetre) if self.is_bare => {
                return Ok(self.quantity.saturating_mul(OF_A_WHOLE));
            }
            _ => {}
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
            format!(
                "{of} is kept in another unit than {}; write {forms}.",
                self.kind()
            ),
        ))
    }

    /// What was written, in a sentence.
    const fn kind(self) -> &'static str {
        match self.unit {
            Unit::Microlitre => "a volume",
            Unit::Millimetre => "a length",
            Unit::Pair => "pairs",
            Unit::Piece => "pieces",
            Unit::Micrometre | Unit::Unspecified => "that",
        }
    }
}

/// Reads `S-01=2` or `S-02=30 ml`.
pub(crate) fn named_stock(text: &str) -> Result<(String, Stock), String> {
    let (name, amount) = split(text, "NAME=AMOUNT, for example S-01=2 or 'S-02=30 ml'")?;
    Ok((tag(name), stock(amount)?))
}

/// Reads how many sets a section of a step gets: `cut=2`.
pub(crate) fn sets(text: &str) -> Result<StepSets, String> {
    const FORMS: &str = "STEP=COUNT, for example cut=2";
    let (step, count) = split(text, FORMS)?;
    let set_count = count.trim_end_matches(" sets").parse();
    Ok(StepSets {
        step: step.to_owned(),
        set_count: set_count.map_err(|_| format!("'{text}' is not written as {FORMS}"))?,
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
    let number = &pointed(number, places).ok_or_else(forms)?;
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

/// A number with a point for its comma: one before three digits stands between thousands where there are no
/// decimals, and may be either where there are.
fn pointed(number: &str, places: u32) -> Option<String> {
    const GROUP_DIGITS: usize = 3;
    match number.split_once(',') {
        None => Some(number.to_owned()),
        Some((whole, part)) if part.len() == GROUP_DIGITS => {
            (places == 0).then(|| format!("{whole}{part}"))
        }
        Some((whole, part)) => Some(format!("{whole}.{part}")),
    }
}

#[cfg(test)]
mod tests;
