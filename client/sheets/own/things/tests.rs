//! Things by the words that people use, and what has to be said of them.

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{Grade, PadMaterial, ToolKind, Unit};

use super::super::words::words;
use super::{Said, understand};

fn said(text: &str, size: &str) -> Said {
    Said {
        words: words(text),
        text: text.to_owned(),
        size: size.to_owned(),
        section: String::new(),
    }
}

/// A thing in short.
fn told(text: &str, size: &str) -> String {
    match understand(&said(text, size)) {
        Err(unclear) => format!("? {:?}", unclear.column),
        Ok(thing) => match thing.figures {
            Figures::Pad(pad) => format!(
                "{} {} pad {}",
                crate::word::word::<Grade>(pad.grade()),
                crate::word::word::<PadMaterial>(pad.material()),
                pad.face_mm
            ),
            Figures::Plate(plate) => format!("plate {} {}", plate.diameter_mm, plate.thread),
            Figures::Machine(machine) => format!(
                "{} {} {} {}{}",
                crate::word::word(machine.action()),
                machine.throw_mm.unwrap_or_default(),
                machine.thread,
                machine.max_speed_per_min,
                if machine.spot { " spot" } else { "" }
            ),
            Figures::Towel(towel) => format!("towel {}", towel.weight_g_per_m2),
            Figures::Liquid(liquid) => format!(
                "{} liquid {}",
                crate::word::word::<Grade>(liquid.grade()),
                liquid.bottle_ul
            ),
            Figures::Sundry(sundry) => format!(
                "{} {}",
                crate::word::word::<Unit>(sundry.unit()),
                sundry.pack_quantity
            ),
            Figures::Tool(tool) => crate::word::word::<ToolKind>(tool.kind()),
            Figures::Battery(battery) => battery.machine_makes.join(" "),
        },
    }
}

#[test]
fn things_are_known_by_the_words_people_use() {
    for (text, size, thing) in [
        ("coarse foam 150", "", "coarse thin-foam pad 150"),
        ("Cutting pad orange", "150mm", "coarse thin-foam pad 150"),
        ("Polishing pad", "150", "medium thin-foam pad 150"),
        ("polish pad white", "80 mm", "medium thin-foam pad 80"),
        ("finishing pads black", "6\"", "fine thin-foam pad 152"),
        ("MF cutting pad", "5.5 in", "coarse microfibre pad 140"),
        ("wool pad 80mm", "", "coarse wool pad 80"),
        ("hand applicator", "100 mm", "fine applicator pad 100"),
        ("backing plate M14 125", "", "plate 125 M14"),
        ("Stützteller", "75 mm", "plate 75 M8"),
        ("backing plate, no thread", "75 mm", "plate 75 none"),
        ("rotary polisher without a thread", "", "rotary 0 none 3000"),
        ("150 mm orbital, 15 mm throw", "", "orbital 15 M8 4800"),
        ("DA polisher 21mm throw", "150 mm", "orbital 21 M8 4800"),
        ("mini polisher 75", "", "orbital 12 M8 5500 spot"),
        ("rotary polisher", "", "rotary 0 M14 3000"),
        (
            "rotary spindle tool with 30 mm pads",
            "",
            "rotary 0 M6 5000 spot",
        ),
        ("edgeless towel 400 gsm", "", "towel 400"),
        ("Mikrofasertuch 350g", "", "towel 350"),
        ("microfibre cloths", "", "towel 400"),
        ("cutting compound 1L", "", "coarse liquid 1000000"),
        ("finishing polish", "500 ml", "fine liquid 500000"),
        ("polish", "0,5 l", "medium liquid 500000"),
        ("one step polish 250ml", "", "medium liquid 250000"),
        ("compound 32 oz", "", "coarse liquid 946368"),
        ("nitrile gloves, box of 50 pairs", "", "pair 50"),
        ("gloves 100 pcs", "", "pair 50"),
        ("masking tape 50 m", "", "millimetre 50000"),
        ("panel wipe", "1 l", "microlitre 1000000"),
        ("pad brush", "", "pad-brush"),
        ("paint thickness gauge", "", "film-gauge"),
        ("swirl light", "", "inspection-light"),
    ] {
        assert_eq!(told(text, size), thing, "{text} / {size}");
    }
}

#[test]
fn what_decides_on_paint_has_to_be_said() {
    assert_eq!(told("blue pad", "150 mm"), "? What");
    assert_eq!(told("cutting pad", ""), "? Size");
    assert_eq!(told("backing plate", ""), "? Size");
    assert_eq!(told("compound", ""), "? Size");
    assert_eq!(told("tin of biscuits", ""), "? What");
}

#[test]
fn the_heading_of_a_part_says_what_its_rows_are() {
    let orange = Said {
        section: "Pads:".to_owned(),
        ..said("orange cutting", "150 mm")
    };
    assert!(matches!(
        understand(&orange).unwrap().figures,
        Figures::Pad(_)
    ));
    let sponge = Said {
        section: "Consumables".to_owned(),
        ..said("foam bungs", "")
    };
    assert!(understand(&sponge).is_err());
}
