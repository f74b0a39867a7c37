//! What pads are rated for: defaults whose own basis scores one, and figures of a make that are from the
//! policy told apart from those that a person gave.

use fettlebook_model::job::{Job, Step};
use fettlebook_model::make::{
    Figures, FilledFigure, FromPolicy, Grade, Make, PadFigures, PadMaterial,
};
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::wear::damage;
use fettlebook_model::{Command, Entry, Format};

use crate::shop::{Shop, foam, id, liquid, make, pad_figures, replayed, routine, saloon_job, step};

fn of(material: PadMaterial) -> Figures {
    match foam(Grade::Coarse, 150) {
        Figures::Pad(pad) => Figures::Pad(PadFigures { material, ..pad }),
        other => other,
    }
}

/// Damage of each pad of a make after so many saloons, one step each that says neither force nor speed,
/// each pad washed after each car.
fn damage_after(cars: u8, pads: i64, figures: Figures, grade: Grade) -> Vec<f64> {
    let mut shop = Shop::new().shipped();
    for (key, figures) in [
        ("some-pad-150", figures),
        ("some-liquid", liquid(grade, 5_000)),
    ] {
        shop.say(Command::CreateMake {
            make: make(key, figures),
        });
    }
    shop.receive("some-pad-150", pads);
    shop.receive("some-liquid", 1);
    let only = Step {
        arm_speed_mm_per_s: None,
        press: None,
        ..step("only", "some-pad-150", "some-liquid")
    };
    shop.say(Command::CreateRoutine {
        routine: routine("only", vec![only]),
    });
    let tags = (1..=pads).map(|pad| format!("P-{pad:02}"));
    let tags = tags.collect::<Vec<_>>().join(" ");
    for day in 1..=cars {
        let job = format!("car-{day}");
        shop.say(Command::BookJob {
            job: Job {
                routine: id("only"),
                ..saloon_job(&job, &format!("2026-04-{day:02} 08:00"))
            },
        });
        shop.go_to(&format!("2026-04-{day:02} 16:00"));
        shop.log(&job);
        shop.wash(&tags);
        shop.mark_dry(&tags);
    }
    let make = shop.book.make(&id("some-pad-150")).unwrap();
    let rated = pad_figures(make);
    let pieces = shop.book.pieces_of(&make.id);
    pieces
        .map(|piece| {
            let pad = piece.pad().unwrap();
            damage(
                pad.work,
                rated.rated_work_sections.unwrap(),
                pad.wash_count,
                rated.rated_wash_count.unwrap(),
            )
        })
        .collect()
}

/// Source: common practice, no source, and from memory: how many medium saloons of one step a set of pads
/// does, washed after each, before it is spent.
#[test]
fn a_default_rating_scores_one_on_what_it_rests_on() {
    for (cars, pads, figures, grade) in [
        (8, 4, foam(Grade::Coarse, 150), Grade::Coarse),
        (8, 4, foam(Grade::Medium, 150), Grade::Medium),
        (20, 3, foam(Grade::Fine, 150), Grade::Fine),
        (5, 6, of(PadMaterial::Microfibre), Grade::Coarse),
        (9, 5, of(PadMaterial::Wool), Grade::Coarse),
    ] {
        let all = damage_after(cars, pads, figures.clone(), grade);
        let mean = all.iter().sum::<f64>() / all.len() as f64;
        assert_eq!(all.len() as i64, pads);
        assert!((mean - 1.0).abs() <= 0.1, "{figures:?}: {all:?}");
    }
}

/// A make of pads as the book holds it.
fn held(shop: &Shop) -> &Make {
    shop.book.make(&id("coarse-foam-150")).unwrap()
}

/// A shop with one make of pads, whose ratings nobody gave.
fn shop() -> Shop {
    let mut shop = Shop::empty();
    shop.say(Command::CreateMake {
        make: make("coarse-foam-150", foam(Grade::Coarse, 150)),
    });
    shop
}

/// What it has from the policy.
fn from_policy(shop: &Shop) -> Vec<FilledFigure> {
    let from = held(shop).from_policy(shop.book.policy());
    from.into_iter().map(|from| from.figure).collect()
}

use FilledFigure::{DryTimeS, LoadSections, RatedWashCount, RatedWorkSections};

#[test]
fn a_figure_that_was_given_is_told_from_one_that_was_filled() {
    let mut shop = Shop::empty();
    let given = match foam(Grade::Coarse, 150) {
        Figures::Pad(pad) => Figures::Pad(PadFigures {
            rated_wash_count: Some(28),
            ..pad
        }),
        other => other,
    };
    let entry = shop.say(Command::CreateMake {
        make: make("coarse-foam-150", given),
    });
    // An earlier program would set the make without the note of what was filled.
    assert_ne!(entry.format, Format::FIRST);
    // The washes are what the policy says too, but a person said it.
    assert_eq!(
        from_policy(&shop),
        [RatedWorkSections, LoadSections, DryTimeS]
    );
    shop.edit_pad("coarse-foam-150", |pad| pad.load_sections = Some(12));
    assert_eq!(from_policy(&shop), [RatedWorkSections, DryTimeS]);
    // What is cleared is filled, and says so.
    shop.edit_pad("coarse-foam-150", |pad| pad.rated_wash_count = None);
    let filled = [RatedWorkSections, RatedWashCount, DryTimeS];
    assert_eq!(from_policy(&shop), filled);
    assert_eq!(replayed(&shop.entries), shop.book);
}

#[test]
fn a_make_keeps_what_it_has_until_it_is_edited() {
    let mut shop = shop();
    shop.set_policy(PolicyKey::RatingCoarseFoamSections, 300);
    let work = FromPolicy {
        figure: RatedWorkSections,
        key: PolicyKey::RatingCoarseFoamSections,
        value: 185,
        policy_value: 300,
    };
    assert_eq!(held(&shop).from_policy(shop.book.policy())[0], work);
    assert_eq!(pad_figures(held(&shop)).rated_work_sections, Some(185));
    shop.edit_pad("coarse-foam-150", |pad| pad.rated_work_sections = None);
    let renewed = FromPolicy { value: 300, ..work };
    assert_eq!(held(&shop).from_policy(shop.book.policy())[0], renewed);
}

/// The book as the version before wrote it: no make says what was filled, and its pads were rated so.
fn by_version_before(entries: &[Entry], work: i64, washes: i64) -> Vec<Entry> {
    let before = |entry: &Entry| {
        let mut entry = serde_json::to_value(entry).unwrap();
        for deed in entry["deeds"].as_array_mut().unwrap() {
            let Some(make) = deed.get_mut("make").and_then(|make| make.as_object_mut()) else {
                continue;
            };
            make.remove("filled");
            if let Some(pad) = make["figures"].get_mut("pad") {
                pad["rated_work_sections"] = work.into();
                pad["rated_wash_count"] = washes.into();
            }
        }
        serde_json::from_value(entry).unwrap()
    };
    entries.iter().map(before).collect()
}

#[test]
fn in_a_book_of_the_version_before_what_equals_its_default_counts_as_filled() {
    let mut shop = shop();
    shop.book = replayed(&by_version_before(&shop.entries, 130, 21));
    let filled = [RatedWorkSections, LoadSections, DryTimeS];
    assert_eq!(from_policy(&shop), filled);
    // Nothing changes by itself, nor with an edit of something else.
    let rated = |shop: &Shop| pad_figures(held(shop)).rated_work_sections;
    assert_eq!(rated(&shop), Some(130));
    shop.edit_pad("coarse-foam-150", |pad| pad.load_sections = Some(12));
    assert_eq!(rated(&shop), Some(130));
    assert_eq!(from_policy(&shop), [RatedWorkSections, DryTimeS]);
    shop.edit_pad("coarse-foam-150", |pad| pad.rated_work_sections = None);
    assert_eq!(rated(&shop), Some(185));
    assert_eq!(from_policy(&shop), [RatedWorkSections, DryTimeS]);
}

/// A person may say just what the policy gave: an edit that names the figure says so.
#[test]
fn an_edit_may_say_that_a_figure_is_given_as_it_is() {
    let mut shop = shop();
    let was = held(&shop).clone();
    let make = Make {
        filled: Some(vec![LoadSections, DryTimeS]),
        ..was.clone()
    };
    shop.say(Command::EditMake { was, make });
    assert_eq!(from_policy(&shop), [LoadSections, DryTimeS]);
}
