//! Canned costs and a quote for the silver saloon of the invented shop.

use fettlebook_contract::v1::{CostKind, CostLine, CostSheet, Quote, QuoteLine};

use super::supply::eur;

fn line(kind: CostKind, text: &str, sums: [&str; 3]) -> CostLine {
    let [low, typical, high] = sums;
    CostLine {
        kind: kind.into(),
        text: text.to_owned(),
        low: eur(low),
        typical: eur(typical),
        high: eur(high),
        ..CostLine::default()
    }
}

/// The forecast of a job.
pub(crate) fn forecast() -> CostSheet {
    let gloves = CostLine {
        price_missing: true,
        ..line(
            CostKind::Sundries,
            "nitrile gloves, 2 pairs",
            ["0.00", "0.00", "0.00"],
        )
    };
    CostSheet {
        hand_time_s: 0,
        hours: None,
        job: "silver-saloon".to_owned(),
        lines: vec![
            line(
                CostKind::Liquid,
                "coarse compound 1 L, 61.5 mL",
                ["1.98", "2.34", "2.87"],
            ),
            line(
                CostKind::Liquid,
                "fine polish 500 mL, 58 mL",
                ["2.70", "3.13", "3.69"],
            ),
            line(
                CostKind::Pads,
                "coarse foam 150, wear of 4",
                ["3.42", "4.81", "7.96"],
            ),
            line(
                CostKind::Plates,
                "plate 125 M8, 5 h",
                ["0.41", "0.41", "0.41"],
            ),
            line(
                CostKind::Towels,
                "edgeless towel 400 g, 9 and their wash",
                ["1.07", "1.07", "1.07"],
            ),
            gloves,
        ],
        low: eur("10.14"),
        typical: eur("11.76"),
        high: eur("15.02"),
        actual: None,
        machine_time_s: 19_020,
        caveats: vec![
            "nitrile gloves have no price; put one on a price list or on the make.".to_owned(),
            "Machine time is information and not priced.".to_owned(),
        ],
    }
}

/// The same job when it is done.
pub(crate) fn done() -> CostSheet {
    let mut sheet = forecast();
    sheet.actual = eur("16.40");
    let actual = ["2.51", "3.13", "9.27", "0.42", "1.07", "0.00"];
    for (line, sum) in sheet.lines.iter_mut().zip(actual) {
        line.actual = eur(sum);
    }
    sheet.lines[0].difference = "66 mL used where 61.5 mL were expected.".to_owned();
    sheet.lines[2].difference = "P-03 tore, and what was left of it went with it.".to_owned();
    sheet
}

/// A quote with what the job costs inside.
pub(crate) fn quoted() -> Quote {
    let line = |text: &str, net: &str| QuoteLine {
        text: text.to_owned(),
        net: eur(net),
    };
    Quote {
        job: "silver-saloon".to_owned(),
        car: "medium saloon, silver".to_owned(),
        routine: "two-step: cut, then finish".to_owned(),
        date: "2026-11-25".to_owned(),
        valid_until_date: "2026-12-09".to_owned(),
        lines: vec![
            line("coarse compound 1 L, 61.5 mL", "3.04"),
            line("fine polish 500 mL, 58 mL", "4.07"),
            line("polishing pads and backing plates", "6.79"),
            line("towels and sundries", "1.39"),
        ],
        net: eur("15.29"),
        tax_permille: 210,
        tax_milli_percent: 21_000,
        tax: eur("3.21"),
        gross: eur("18.50"),
        markup_permille: Some(300),
        margin_permille: None,
        cost: Some(forecast()),
        labour: None,
    }
}

/// A quote with labour, its materials in one line.
pub(crate) fn with_labour() -> Quote {
    let line = |text: &str, net: &str| QuoteLine {
        text: text.to_owned(),
        net: eur(net),
    };
    Quote {
        lines: vec![
            line("labour, 6 h 30 min at 45.00 EUR an hour", "292.50"),
            line("materials", "15.29"),
        ],
        net: eur("307.79"),
        tax: eur("64.64"),
        gross: eur("372.43"),
        labour: eur("292.50"),
        cost: None,
        ..quoted()
    }
}
