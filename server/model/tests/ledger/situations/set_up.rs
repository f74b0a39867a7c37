//! How each situation of the table comes about in the shop.

mod pads;

use fettlebook_model::Command;
use fettlebook_model::check::{LineKind, check_jobs};
use fettlebook_model::command::Said;
use fettlebook_model::job::{Car, Job, PanelNote, Step};
use fettlebook_model::make::{Figures, Grade, MachineFigures, PadMaterial, PlateFigures};
use fettlebook_model::panel::Panel;
use fettlebook_model::plan::panels;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::tool::{ToolKind, ToolNeed};
use fettlebook_quantity::{Thickness, Volume};

use crate::shop::{Shop, done, foam, id, make, plate, routine, saloon_job, step, tool, weighing};

type SetUp = fn(&mut Shop);

/// How a situation comes about; nothing for one that is not known.
pub(super) fn of(situation: &str) -> Option<SetUp> {
    let mut known = all().filter(|(name, _)| *name == situation);
    known.next().map(|(_, set_up)| set_up)
}

/// Every situation, by the name it has in the table.
pub(super) fn all() -> impl Iterator<Item = (&'static str, SetUp)> {
    NAMES.iter().chain(pads::NAMES).copied()
}

/// Situations of all but pads.
const NAMES: &[(&str, SetUp)] = &[
    ("all is there", |_| {}),
    ("one towel short", |shop| towels(shop, 5, 0)),
    ("half the towels", |shop| towels(shop, 3, 0)),
    ("nine of thirty towels short", |shop| {
        thirty_towels(shop, 21)
    }),
    ("ten of thirty towels short", |shop| thirty_towels(shop, 20)),
    ("all towels soiled the evening before", |shop| {
        towels(shop, 0, 24);
    }),
    ("all towels soiled two days before", |shop| {
        towels(shop, 0, 24);
        shop.book_saloon("thursday", "2026-03-06 08:00");
    }),
    ("towels due for a look", |shop| washed_towels(shop, 25)),
    ("towels washed fifty times", |shop| washed_towels(shop, 50)),
    ("towels in the van", |shop| {
        shop.move_to("T-01", "van-a");
    }),
    ("machine aside", |shop| {
        shop.set_aside("M-01");
    }),
    ("machine wanted twice at one time", |shop| {
        other_job(shop, "van-a", "2026-03-05 10:00");
    }),
    ("two cars at one bench at one time", |shop| {
        shop.receive("orbital-150", 1);
        other_job(shop, "bench", "2026-03-05 10:00");
    }),
    ("another car after this one", |shop| {
        other_job(shop, "van-a", "2026-03-05 23:30");
    }),
    ("plate of unknown rating", |shop| {
        other_plate(shop, 135, None)
    }),
    ("plate flush with the pad", |shop| {
        other_plate(shop, 150, Some(12_000));
    }),
    ("plate 3 mm narrower than the pad", |shop| {
        other_plate(shop, 147, Some(12_000));
    }),
    ("plate 40 mm narrower than the pad", |shop| {
        other_plate(shop, 110, Some(12_000));
    }),
    ("plate wider than the pad", |shop| {
        other_plate(shop, 151, Some(12_000));
    }),
    ("plate 41 mm narrower than the pad", |shop| {
        other_plate(shop, 109, Some(12_000));
    }),
    ("plate too slow", |shop| {
        other_plate(shop, 135, Some(4_999));
    }),
    ("slow plate beside a good one", |shop| {
        another_plate(shop, 135, Some(4_000));
    }),
    ("plate with another thread", |shop| {
        orbital(shop, |orbital| orbital.thread = "M14".parse().unwrap());
    }),
    ("plate for a machine without a thread", |shop| {
        orbital(shop, |orbital| orbital.thread = "none".parse().unwrap());
    }),
    ("neither machine nor plate with a thread", |shop| {
        no_thread(shop);
    }),
    ("two machines without a thread", |shop| {
        no_thread(shop);
        let other = MachineFigures {
            thread: "none".parse().unwrap(),
            ..crate::shop::orbital()
        };
        shop.say(Command::CreateMake {
            make: make("other-orbital", Figures::Machine(other)),
        });
    }),
    ("slow plate for a machine without a thread", |shop| {
        no_thread(shop);
        shop.lose("BP-02");
        plate_without_thread(shop, "slow-plate", Some(4_999));
    }),
    ("plate aside", |shop| {
        shop.set_aside("BP-01");
    }),
    ("film not measured", |shop| {
        shop.edit_saloon(|car| car.panels.clear());
    }),
    ("film 105 µm", |shop| roof(shop, 105)),
    ("film 95 µm, coarse", |shop| roof(shop, 95)),
    ("film 95 µm, fine", |shop| roof_finished(shop, 95)),
    ("film 85 µm, coarse", |shop| roof(shop, 85)),
    ("film 85 µm, fine", |shop| roof_finished(shop, 85)),
    ("film 85 µm, coarse by hand", |shop| {
        roof_by_hand(shop, 85, "coarse-compound-1l");
    }),
    ("film 75 µm, fine by hand", |shop| {
        roof_by_hand(shop, 75, "fine-polish-500ml");
    }),
    ("film 75 µm, coarse by hand", |shop| {
        roof_by_hand(shop, 75, "coarse-compound-1l");
    }),
    ("film 65 µm, fine by hand", |shop| {
        roof_by_hand(shop, 65, "fine-polish-500ml");
    }),
    ("film 75 µm, coarse", |shop| roof(shop, 75)),
    ("film 75 µm, fine", |shop| roof_finished(shop, 75)),
    ("film 65 µm, coarse", |shop| roof(shop, 65)),
    ("film 65 µm, fine", |shop| roof_finished(shop, 65)),
    ("film 65 µm, left out", |shop| {
        roof(shop, 65);
        shop.say(Command::BookJob {
            job: Job {
                left_out: vec![Panel::Roof],
                ..saloon_job("thursday", "2026-03-05 08:00")
            },
        });
    }),
    ("vibration measured 5.5 m/s², one car", |shop| {
        vibration(shop, Some(5_500), true);
    }),
    ("vibration measured 9 m/s², one car", |shop| {
        vibration(shop, Some(9_000), true);
    }),
    ("vibration not known", |shop| vibration(shop, None, false)),
    ("vibration declared 5.5 m/s², one car", |shop| {
        vibration(shop, Some(5_500), false);
    }),
    ("vibration declared 2 m/s², one car", |shop| {
        vibration(shop, Some(2_000), false);
    }),
    ("vibration measured 5.5 m/s², two cars a day", |shop| {
        vibration(shop, Some(5_500), true);
        other_job(shop, "bench", "2026-03-05 23:30");
    }),
    (
        "vibration measured 5.5 m/s², the other car elsewhere",
        |shop| {
            vibration(shop, Some(5_500), true);
            other_job(shop, "van-a", "2026-03-05 23:30");
        },
    ),
    ("noise 87 dB(A) at the ear", |shop| {
        orbital(shop, |orbital| orbital.noise_db = Some(87));
    }),
    ("compound 1 mL short", |shop| {
        compound_short_by(shop, |_| 1_000)
    }),
    ("compound a third short", |shop| {
        compound_short_by(shop, |need_ul| need_ul / 3);
    }),
    ("compound past its date", |shop| {
        dated_compound(shop, "2026-03-04");
    }),
    ("compound near its date", |shop| {
        dated_compound(shop, "2026-03-12");
    }),
    ("compound with its heel alone", |shop| {
        shop.count("B-01", 20_000);
    }),
    ("compound opened three years ago", |shop| {
        old_compound(shop, 990_000)
    }),
    ("compound sealed for three years", |shop| {
        old_compound(shop, 1_000_000)
    }),
    ("compound level in doubt", |shop| {
        let weighings = vec![weighing("B-01", 1_400)];
        shop.say(Command::Weigh {
            said: Said::default(),
            weighings,
        });
    }),
    ("gloves short", |shop| {
        shop.count("S-01", 1);
    }),
    ("pads washed last night", |shop| {
        shop.go_to("2026-03-04 18:00");
        shop.wash("P-01 P-02 P-03 P-04 P-05 P-06 P-07");
    }),
    ("gauge missing", |shop| name_gauge(shop, false)),
    ("gauge missing where the routine says must", |shop| {
        name_gauge(shop, true);
    }),
    ("all pads aside", |shop| {
        shop.set_aside("P-01 P-02 P-03 P-04 P-05 P-06 P-07");
    }),
];

impl Shop {
    /// The stocked shop with every panel of the saloon measured at 120 µm.
    pub(super) fn ready() -> Self {
        let mut shop = Self::stocked();
        let of = |car: &Car, shop: &Self| panels(car, shop.book.policy());
        let car = shop.book.car(&id("medium-saloon-silver")).unwrap();
        let notes: Vec<PanelNote> = of(car, &shop)
            .into_iter()
            .map(|facts| note(facts.panel, 120))
            .collect();
        shop.edit_saloon(|car| car.panels = notes);
        shop
    }
}

fn note(panel: Panel, um: i64) -> PanelNote {
    PanelNote {
        panel,
        area_mm2: None,
        left_out: false,
        split: None,
        film_um: Some(Thickness::from_um(um)),
    }
}

fn towels(shop: &mut Shop, clean: i64, soiled: i64) {
    shop.count_towels("T-01", clean, soiled);
}

/// A side that wipes a fifth of the usual: the saloon then takes thirty towels.
fn thirty_towels(shop: &mut Shop, clean: i64) {
    shop.set_policy(PolicyKey::TowelSideMm2, 102_000);
    towels(shop, clean, 0);
}

fn washed_towels(shop: &mut Shop, wash_count: i64) {
    shop.lose("T-01");
    shop.receive_towels(24, wash_count);
}

fn other_job(shop: &mut Shop, place: &str, start: &str) {
    shop.say(Command::BookJob {
        job: Job {
            place: id(place),
            ..saloon_job("other", start)
        },
    });
}

fn another_plate(shop: &mut Shop, diameter_mm: i64, rated: Option<i64>) {
    shop.say(Command::CreateMake {
        make: make("other-plate", plate(diameter_mm, rated)),
    });
    shop.receive("other-plate", 1);
}

/// Another plate in the place of the one of the story.
fn other_plate(shop: &mut Shop, diameter_mm: i64, rated: Option<i64>) {
    shop.lose("BP-01");
    another_plate(shop, diameter_mm, rated);
}

/// A machine and the one plate for it, neither with a thread.
fn no_thread(shop: &mut Shop) {
    orbital(shop, |orbital| orbital.thread = "none".parse().unwrap());
    shop.lose("BP-01");
    plate_without_thread(shop, "clip-plate", Some(12_000));
}

fn plate_without_thread(shop: &mut Shop, name: &str, rated: Option<i64>) {
    let figures = PlateFigures {
        thread: "none".parse().unwrap(),
        ..fettlebook_shed::plate(135, rated)
    };
    shop.say(Command::CreateMake {
        make: make(name, Figures::Plate(figures)),
    });
    shop.receive(name, 1);
}

fn orbital(shop: &mut Shop, change: impl FnOnce(&mut MachineFigures)) {
    shop.edit_orbital(change);
}

fn vibration(shop: &mut Shop, mm_per_s2: Option<i64>, is_measured: bool) {
    orbital(shop, |orbital| {
        orbital.vibration_mm_per_s2 = mm_per_s2;
        orbital.vibration_measured = is_measured;
    });
}

fn roof(shop: &mut Shop, um: i64) {
    shop.edit_saloon(|car| {
        for panel in &mut car.panels {
            if panel.panel == Panel::Roof {
                *panel = note(Panel::Roof, um);
            }
        }
    });
}

/// The roof so thin, and the car finished alone.
fn roof_finished(shop: &mut Shop, um: i64) {
    roof(shop, um);
    let mut finish = routine(
        "finish-alone",
        vec![step("finish", "fine-foam-150", "fine-polish-500ml")],
    );
    finish.towel_make = Some(id("edgeless-towel-400g"));
    shop.say(Command::CreateRoutine { routine: finish });
    shop.say(Command::BookJob {
        job: Job {
            routine: id("finish-alone"),
            ..saloon_job("thursday", "2026-03-05 08:00")
        },
    });
}

/// The roof so thin, and worked by hand with this liquid, after which the rest of the car is finished by
/// machine.
fn roof_by_hand(shop: &mut Shop, um: i64, liquid: &str) {
    roof(shop, um);
    let Figures::Pad(mut applicator) = foam(Grade::Fine, 90) else {
        panic!("a pad")
    };
    applicator.material = PadMaterial::Applicator;
    shop.say(Command::CreateMake {
        make: make("hand-applicator", Figures::Pad(applicator)),
    });
    shop.receive("hand-applicator", 4);
    let by_hand = Step {
        machine_make: None,
        panels: vec![Panel::Roof],
        ..step("roof", "hand-applicator", liquid)
    };
    let mut by_machine = step("finish", "fine-foam-150", "fine-polish-500ml");
    by_machine.panels = vec![Panel::Bonnet];
    shop.say(Command::CreateRoutine {
        routine: routine("roof-by-hand", vec![by_hand, by_machine]),
    });
    shop.say(Command::BookJob {
        job: Job {
            routine: id("roof-by-hand"),
            ..saloon_job("thursday", "2026-03-05 08:00")
        },
    });
}

/// Has the two-step name a film gauge that is not there.
fn name_gauge(shop: &mut Shop, must: bool) {
    shop.say(Command::CreateMake {
        make: make("film-gauge", tool(ToolKind::FilmGauge)),
    });
    let was = shop.book.routine(&id("two-step")).unwrap().as_ref().clone();
    let mut routine = was.clone();
    routine.tools = vec![ToolNeed {
        make: id("film-gauge"),
        must,
    }];
    shop.say(Command::EditRoutine { was, routine });
}

/// Leaves less compound than the job will likely use, by so much of what it will; the heel of the bottle,
/// which is not planned with, stays in it besides.
fn compound_short_by(shop: &mut Shop, missing_ul: impl FnOnce(i64) -> i64) {
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check_jobs(&shop.book, &[id("thursday")], shop.now).unwrap();
    let cut = Some(id("cut"));
    let mut lines = checks[0].lines.iter();
    let line = lines
        .find(|line| line.kind == LineKind::Liquid && line.step == cut)
        .unwrap();
    let heel_ul = shop.left_ul("B-01") - line.have;
    let left_ul = line.need - missing_ul(line.need) + heel_ul;
    shop.count("B-01", left_ul);
}

/// Compound that may be used until a day, in the place of the one of the story.
fn dated_compound(shop: &mut Shop, expiry: &str) {
    shop.lose("B-01");
    shop.receive_as("coarse-compound-1l", 1, |receipt| {
        receipt.expiry = Some(expiry.parse().unwrap());
        receipt.volume_ul = Some(Volume::from_ul(400_000));
    });
}

/// Compound without a date that came three years ago with so much in it, in the place of the one of the
/// story.
fn old_compound(shop: &mut Shop, left_ul: i64) {
    shop.lose("B-01");
    shop.receive_as("coarse-compound-1l", 1, |receipt| {
        receipt.said = done("2023-03-01 09:00");
        receipt.volume_ul = Some(Volume::from_ul(left_ul));
    });
}
