//! What the check says between the days: of what was binned or washed meanwhile, and of the second day alone.

use fettlebook_model::Command;
use fettlebook_model::check::{JobCheck, Line, LineKind};
use fettlebook_model::command::{JobLog, Said};

use super::{PADS, checked, life, log_first, pads, picks, saturday};
use crate::shop::{id, pad_use, saloon_job};

#[test]
fn a_pad_binned_in_the_evening_is_missing_on_the_second_day() {
    let mut shop = saturday();
    shop.go_to("2026-03-05 15:00");
    let torn = |log: &mut JobLog| {
        log.first_day = true;
        log.pads = vec![pad_use("P-03")];
        log.pads[0].found = Some("torn".parse().unwrap());
    };
    shop.log_as("saloon", torn).unwrap();
    shop.wash("P-01 P-02 P-04 P-05");
    let line = pads(&shop, "again");
    assert_eq!((line.need, line.short), (5, 1));
    assert_eq!(picks(&line), ["P-01", "P-02", "P-04", "P-05"]);
    shop.go_to("2026-03-07 15:00");
    shop.log("saloon");
    assert_eq!((life(&shop, "P-03"), life(&shop, "P-04")), ((1, 0), (2, 1)));
}

#[test]
fn a_pad_washed_too_late_is_not_dry_on_the_second_day() {
    let mut shop = saturday();
    // Nobody has logged or washed by Friday at nine.
    shop.go_to("2026-03-06 09:00");
    let line = pads(&shop, "again");
    assert_eq!(line.short, 5);
    assert!(line.reason.contains("not dry by the second"), "{line:?}");
    log_first(&mut shop);
    shop.wash(&PADS.join(" "));
    let line = pads(&shop, "again");
    assert_eq!(line.short, 5);
    assert!(line.reason.contains("Drying: P-01"), "{line:?}");
    // Washed in time though the log was not told: the wash counts.
    let mut shop = saturday();
    shop.go_to("2026-03-05 18:00");
    shop.wash(&PADS.join(" "));
    shop.go_to("2026-03-06 19:00");
    assert_eq!(
        (pads(&shop, "cut").short, pads(&shop, "again").short),
        (0, 0)
    );
}

/// What is to come of a job whose first day is logged is its second: no line and no amount of the first is told.
#[test]
fn a_check_between_the_days_is_of_the_second() {
    let mut shop = saturday();
    let before = checked(&shop, &["saloon"]).remove(0);
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    let after = checked(&shop, &["saloon"]).remove(0);
    let steps = |check: &JobCheck| {
        let pads = check.lines.iter().filter(|line| line.kind == LineKind::Pad);
        pads.filter_map(|line| line.step.as_ref().map(ToString::to_string))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        (steps(&before), steps(&after)),
        (vec!["cut".into(), "again".into()], vec!["again".into()])
    );
    let need = |check: &JobCheck, kind| {
        let mut lines = check.lines.iter();
        lines.find(|line| line.kind == kind).unwrap().need
    };
    assert_eq!(
        need(&after, LineKind::Liquid) * 2,
        need(&before, LineKind::Liquid)
    );
    let of_vibration = |line: &&Line| line.kind == LineKind::Vibration;
    let told: Vec<&str> = after
        .lines
        .iter()
        .filter(of_vibration)
        .map(|line| line.what.as_str())
        .collect();
    assert_eq!(told, ["hand-arm vibration, second day"]);
    // The day that is over still counts for whoever works another job on it.
    shop.say(Command::BookJob {
        job: saloon_job("evening", "2026-03-05 16:00"),
    });
    let evening = checked(&shop, &["evening"]).remove(0).exposure.a8_m_per_s2;
    assert!(
        (evening - 2.0 * (33_264.0_f64 / 28_800.0).sqrt()).abs() < 5e-4,
        "{evening}"
    );
    shop.say(Command::CallOff {
        said: Said::default(),
        job: id("saloon"),
    });
    let evening = checked(&shop, &["evening"]).remove(0).exposure.a8_m_per_s2;
    assert!(
        (evening - 2.0 * (33_264.0_f64 / 28_800.0).sqrt()).abs() < 5e-4,
        "{evening}"
    );
}
