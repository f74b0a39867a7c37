//! What is used up or washed: towels, liquids, and what is counted or measured.

use fettlebook_contract::v1::{Grade, LiquidFigures, SundryFigures, TowelFigures, Unit};

use super::{Said, Unclear, any, grade, has};
use crate::sheets::own::Column;
use crate::sheets::own::words::measures;

pub(super) fn towel(said: &Said, taken: &mut Vec<String>) -> TowelFigures {
    let both = format!("{} {}", said.size, said.text);
    let weights = measures(&both).into_iter().filter(|(_, unit)| {
        matches!(
            unit.as_str(),
            "" | "g" | "gsm" | "g/m" | "g/m²" | "g/m2" | "gr"
        )
    });
    let mut weights = weights.map(|(milli, _)| milli / 1_000);
    let weight = weights.find(|weight| (100..=1_500).contains(weight));
    TowelFigures {
        weight_g_per_m2: weight.unwrap_or_else(|| {
            taken.push("400 g/m²".to_owned());
            400
        }),
        ..TowelFigures::default()
    }
}

/// A volume in µL that a text says.
fn volume_ul(text: &str) -> Option<i64> {
    let volumes = measures(text).into_iter().filter_map(|(milli, unit)| {
        let per_unit = match unit.as_str() {
            "ml" => 1_000,
            "cl" => 10_000,
            "dl" => 100_000,
            "l" | "lt" | "ltr" | "litre" | "liter" | "litres" => 1_000_000,
            // US fluid ounce, 29.5735 mL.
            "oz" | "fl" | "floz" => 29_574,
            "gal" | "gallon" => 3_785_412,
            _ => return None,
        };
        milli.checked_mul(per_unit).map(|ul| ul / 1_000)
    });
    volumes.into_iter().find(|ul| *ul > 0)
}

pub(super) fn liquid(said: &Said, taken: &mut Vec<String>) -> Result<LiquidFigures, Unclear> {
    let is_compound = any(
        said,
        &[
            "compound",
            "paste",
            "cutting paste",
            "schleifpaste",
            "abrasive",
        ],
    );
    let said_plain = ["coarse", "medium", "fine"]
        .iter()
        .any(|word| has(&said.words, word));
    let finishing = any(
        said,
        &[
            "finish",
            "finishing",
            "fein",
            "fijn",
            "glaze",
            "refining",
            "jewelling",
            "acabado",
        ],
    );
    let grade = if said_plain || finishing {
        grade(said)
    } else if is_compound || any(said, &["cut", "cutting", "heavy"]) {
        Some(Grade::Coarse)
    } else {
        grade(said)
    };
    let grade = grade.unwrap_or_else(|| {
        taken.push("medium".to_owned());
        Grade::Medium
    });
    let bottle_ul = volume_ul(&said.size).or_else(|| volume_ul(&said.text));
    let bottle_ul = bottle_ul.ok_or_else(|| Unclear {
        column: Column::Size,
        text: "It does not say how much a new bottle holds.".to_owned(),
        todo: "Write it, such as 500 ml.".to_owned(),
    })?;
    Ok(LiquidFigures {
        grade: grade.into(),
        bottle_ul,
        ..LiquidFigures::default()
    })
}

pub(super) fn sundry(unit: Unit, pack_quantity: i64) -> SundryFigures {
    SundryFigures {
        unit: unit.into(),
        pack_quantity,
    }
}

pub(super) fn gloves(said: &Said, taken: &mut Vec<String>) -> SundryFigures {
    let both = format!("{} {}", said.size, said.text);
    let counted = measures(&both)
        .into_iter()
        .filter_map(|(milli, unit)| match unit.as_str() {
            "pairs" | "pair" | "paar" => Some(milli / 1_000),
            "pcs" | "pieces" | "gloves" | "stuck" | "stück" | "stk" | "ct" | "count" => {
                Some(milli / 2_000)
            }
            _ => None,
        });
    let pairs = counted.into_iter().find(|pairs| *pairs > 0);
    let pairs = pairs.unwrap_or_else(|| {
        taken.push("50 pairs in a box".to_owned());
        50
    });
    sundry(Unit::Pair, pairs)
}

pub(super) fn tape(said: &Said, taken: &mut Vec<String>) -> SundryFigures {
    let both = format!("{} {}", said.size, said.text);
    let lengths = measures(&both).into_iter();
    let mut lengths = lengths
        .filter(|(_, unit)| matches!(unit.as_str(), "m" | "metres" | "meter" | "metre" | "mtr"));
    let length = lengths.next().map(|(milli, _)| milli).filter(|mm| *mm > 0);
    let length = length.unwrap_or_else(|| {
        taken.push("50 m on a roll".to_owned());
        50_000
    });
    sundry(Unit::Millimetre, length)
}

pub(super) fn wipe(said: &Said, taken: &mut Vec<String>) -> SundryFigures {
    let volume = volume_ul(&said.size).or_else(|| volume_ul(&said.text));
    let volume = volume.unwrap_or_else(|| {
        taken.push("1 L in a can".to_owned());
        1_000_000
    });
    sundry(Unit::Microlitre, volume)
}
