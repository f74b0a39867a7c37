//! What works the paint: pads, plates and machines.

use fettlebook_contract::v1::{
    Grade, MachineAction, MachineFigures, PadFigures, PadMaterial, PlateFigures,
};

use super::{Said, Unclear, any, grade};
use crate::sheets::own::Column;
use crate::sheets::own::words::{measures, words};

/// Sizes in mm that a text says, in order: `150 mm`, `6 in`, `5.5"`, and bare numbers from 10 to 300.
fn sizes_mm(text: &str) -> Vec<i64> {
    let sizes = measures(text)
        .into_iter()
        .filter_map(|(milli, unit)| match unit.as_str() {
            "mm" => Some(milli / 1_000),
            "cm" => Some(milli / 100),
            "in" | "inch" | "inches" | "\"" | "″" | "zoll" => {
                Some((milli * 254 + 5_000) / 10_000)
            }
            "m" | "ml" | "l" | "g" | "gsm" | "rpm" | "kg" | "step" | "x" => None,
            _ => (10_000..=300_000).contains(&milli).then_some(milli / 1_000),
        });
    sizes.collect()
}

fn size_mm(said: &Said) -> Option<i64> {
    let own = sizes_mm(&said.size).into_iter().next();
    own.or_else(|| sizes_mm(&said.text).into_iter().next())
}

pub(super) fn pad(said: &Said, taken: &mut Vec<String>) -> Result<PadFigures, Unclear> {
    let material = if any(said, &["applicator", "applicators", "hand pad"]) {
        PadMaterial::Applicator
    } else if any(said, &["microfibre", "microfiber", "mf", "mikrofaser"]) {
        PadMaterial::Microfibre
    } else if any(said, &["wool", "lambswool", "wolle", "lammfell"]) {
        PadMaterial::Wool
    } else if any(said, &["thick", "dick"]) {
        PadMaterial::ThickFoam
    } else {
        if !any(
            said,
            &["foam", "thin", "schaum", "schwamm", "polierschwamm"],
        ) {
            taken.push("foam".to_owned());
        }
        PadMaterial::ThinFoam
    };
    let by_use = grade(said);
    // Of a pad the word for the liquid says as much.
    let by_liquid = || any(said, &["polish", "politur"]).then_some(Grade::Medium);
    let by_material = || match material {
        PadMaterial::Applicator => Some(Grade::Fine),
        PadMaterial::Wool | PadMaterial::Microfibre => Some(Grade::Coarse),
        _ => None,
    };
    let grade = by_use.or_else(by_liquid).or_else(|| {
        let usual = by_material();
        taken.extend(usual.map(crate::word::word));
        usual
    });
    let grade = grade.ok_or_else(|| Unclear {
        column: Column::What,
        text: "It does not say whether this pad is coarse, medium or fine.".to_owned(),
        todo: "Write so, such as: fine foam pad.".to_owned(),
    })?;
    let face_mm = size_mm(said).ok_or_else(|| Unclear {
        column: Column::Size,
        text: "It does not say how wide the pad's face is.".to_owned(),
        todo: "Write its diameter, such as 150 mm.".to_owned(),
    })?;
    Ok(PadFigures {
        material: material.into(),
        grade: grade.into(),
        face_mm,
        ..PadFigures::default()
    })
}

/// A thread as marked: `M8`, `M14`, `5/16-24`, `5/8-11`, or `no thread`.
fn thread(said: &Said) -> Option<&'static str> {
    let both = format!("{} {}", said.text, said.size).to_lowercase();
    const NO_THREAD: [&str; 4] = [
        "no thread",
        "without thread",
        "without a thread",
        "threadless",
    ];
    if NO_THREAD.iter().any(|words| both.contains(words)) || both.contains("thread none") {
        return Some("none");
    }
    let threads = [
        ("m14", "M14"),
        ("m8", "M8"),
        ("m6", "M6"),
        ("m5", "M5"),
        ("5/8", "5/8-11"),
        ("5/16", "5/16-24"),
    ];
    let holds = |sign: &str| {
        both.split([' ', ',', ';', '(', ')', '-', '"']).any(|word| {
            word == sign
                || word
                    .strip_prefix(sign)
                    .is_some_and(|rest| rest.starts_with('-'))
        })
    };
    threads
        .into_iter()
        .find(|(sign, _)| holds(sign))
        .map(|(_, thread)| thread)
}

/// Turns a minute that a text says.
fn speed(said: &Said) -> Option<i64> {
    let speeds = measures(&said.text).into_iter();
    let speeds = speeds.filter(|(_, unit)| matches!(unit.as_str(), "rpm" | "opm" | "/min" | "min"));
    speeds.map(|(milli, _)| milli / 1_000).max()
}

pub(super) fn plate(said: &Said, taken: &mut Vec<String>) -> Result<PlateFigures, Unclear> {
    let diameter_mm = size_mm(said).ok_or_else(|| Unclear {
        column: Column::Size,
        text: "It does not say how wide the plate is.".to_owned(),
        todo: "Write its diameter, such as 125 mm.".to_owned(),
    })?;
    let thread = thread(said).unwrap_or_else(|| {
        taken.push("thread M8".to_owned());
        "M8"
    });
    Ok(PlateFigures {
        diameter_mm,
        thread: thread.to_owned(),
        rated_speed_per_min: speed(said),
        ..PlateFigures::default()
    })
}

/// Figures of machines by sort and size, from memory as those of the starter kits are.
pub(super) fn machine(said: &Said, taken: &mut Vec<String>) -> MachineFigures {
    const SMALL_MM: i64 = 100;
    const PENCIL_MM: i64 = 50;
    let is_rotary = any(said, &["rotary", "spindle", "rotations"]);
    let own = sizes_mm(&said.size).into_iter().next();
    let throw = throw(said);
    let of_text = sizes_mm(&said.text)
        .into_iter()
        .find(|size| Some(*size) != throw);
    let size = own.or(of_text).unwrap_or(150);
    let (is_small, is_pencil) = (size <= SMALL_MM, size <= PENCIL_MM);
    let (usual_thread, max, work) = match (is_rotary, is_small, is_pencil) {
        (true, _, true) => ("M6", 5_000, 2_000),
        (true, ..) => ("M14", 3_000, 1_500),
        (false, true, _) => ("M8", 5_500, 5_000),
        (false, false, _) => ("M8", 4_800, 4_500),
    };
    let thread = thread(said).unwrap_or_else(|| {
        taken.push(format!("thread {usual_thread}"));
        usual_thread
    });
    let max_speed_per_min = speed(said).unwrap_or_else(|| {
        taken.push(format!("{max} a minute at most"));
        max
    });
    let throw_mm = (!is_rotary).then(|| {
        throw.unwrap_or_else(|| {
            let usual = if is_small { 12 } else { 15 };
            taken.push(format!("throw {usual} mm"));
            usual
        })
    });
    let action = if is_rotary {
        MachineAction::Rotary
    } else {
        MachineAction::Orbital
    };
    MachineFigures {
        action: action.into(),
        throw_mm,
        thread: thread.to_owned(),
        max_speed_per_min,
        work_speed_per_min: Some(work.min(max_speed_per_min)),
        spot: is_small,
        cordless: false,
        ..MachineFigures::default()
    }
}

/// A throw that a text says: `15 mm throw`, `throw 21`, `21mm orbit`.
fn throw(said: &Said) -> Option<i64> {
    const WORDS: [&str; 5] = ["throw", "orbit", "stroke", "hub", "excenter"];
    let words = words(&said.text);
    let at = words
        .iter()
        .position(|word| WORDS.contains(&word.as_str()))?;
    let number = |word: &String| {
        let digits = word.trim_end_matches(|letter: char| letter.is_alphabetic());
        digits
            .parse::<i64>()
            .ok()
            .filter(|mm| (3..=50).contains(mm))
    };
    let before = words.get(at.saturating_sub(2)..at).unwrap_or_default();
    let after = words.get(at + 1..).unwrap_or_default();
    before
        .iter()
        .rev()
        .find_map(number)
        .or_else(|| after.iter().take(1).find_map(number))
}
