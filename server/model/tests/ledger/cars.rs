//! What six cars take in one step and in two, beside the trade's rules of thumb.
//!
//! The table is `cars.md`, for people; each of its rows is planned from a book with the defaults alone. The
//! rules are for a medium car; another takes more or less in proportion to its paint.

use fettlebook_model::Command;
use fettlebook_model::film::FilmReadings;
use fettlebook_model::job::{Car, Job, Step};
use fettlebook_model::make::Grade;
use fettlebook_model::plan::{Plan, plan_job};
use fettlebook_model::policy::PolicyKey;

use crate::shop::{Shop, foam, id, liquid, make, routine, saloon_job, step};

const TABLE: &str = include_str!("cars.md");

/// Each car as it is said, with its class.
const CARS: [(&str, &str); 6] = [
    ("city car", "city"),
    ("medium hatch", "medium-hatch"),
    ("medium saloon", "medium-saloon"),
    ("estate", "estate"),
    ("medium SUV", "medium-suv"),
    ("panel van", "van"),
];
/// Paint of the medium saloon, for which the rules of thumb are.
const MEDIUM_MM2: f64 = 12_200_000.0;

/// The shop with one routine of one step and one of two; no step says force or speed.
fn shop() -> Shop {
    let mut shop = Shop::new().shipped();
    for (key, figures) in [
        ("medium-foam-150", foam(Grade::Medium, 150)),
        ("medium-polish-1l", liquid(Grade::Medium, 1_000)),
    ] {
        shop.say(Command::CreateMake {
            make: make(key, figures),
        });
    }
    let open = |name: &str, pad: &str, liquid: &str| Step {
        arm_speed_mm_per_s: None,
        press: None,
        ..step(name, pad, liquid)
    };
    let one = vec![open("medium", "medium-foam-150", "medium-polish-1l")];
    let two = vec![
        open("coarse", "coarse-foam-150", "coarse-compound-1l"),
        open("fine", "fine-foam-150", "fine-polish-500ml"),
    ];
    for (key, steps) in [("one", one), ("two", two)] {
        let mut routine = routine(key, steps);
        routine.towel_make = Some(id("edgeless-towel-400g"));
        shop.say(Command::CreateRoutine { routine });
    }
    for (_, class) in CARS {
        shop.say(Command::CreateCar {
            car: Car {
                id: id(class),
                class: class.parse().unwrap(),
                note: String::new(),
                dimensions: None,
                panels: Vec::new(),
                film: FilmReadings::default(),
            },
        });
    }
    shop
}

/// The plan of each car under each routine: what it is called, how many steps, and what it needs.
fn plans(shop: &Shop) -> Vec<(&'static str, &'static str, Plan)> {
    let cars = CARS.iter();
    let both = cars.flat_map(|(name, class)| [(*name, *class, "one"), (*name, *class, "two")]);
    both.map(|(name, class, steps)| {
        let job = Job {
            car: id(class),
            routine: id(steps),
            ..saloon_job("job", "2026-03-05 08:00")
        };
        (name, steps, plan_job(&shop.book, &job).unwrap())
    })
    .collect()
}

/// Time on paint, s.
fn on_paint_s(plan: &Plan) -> f64 {
    plan.steps
        .iter()
        .map(|step| step.time_ms as f64 / 1e3)
        .sum()
}

/// How long a job lasts, h, until the shop's own ratio is known.
fn job_h(shop: &Shop, plan: &Plan) -> f64 {
    let ratio = shop.book.policy().value(PolicyKey::JobTimePermille) as f64 / 1e3;
    on_paint_s(plan) * ratio / 3_600.0
}

/// A row of the table.
fn row(shop: &Shop, name: &str, steps: &str, plan: &Plan) -> String {
    let pads = plan.steps.iter();
    let pads = pads.map(|step| format!("{} {}", step.pad_count, step.name));
    let liquid = plan.steps.iter();
    let liquid = liquid.map(|step| format!("{:.0} mL", step.volume.ul() as f64 / 1e3));
    format!(
        "| {name} | {:.1} m² | {steps} | {} | {} | {} | {:.0} min | {:.1} h |",
        plan.area.mm2() as f64 / 1e6,
        plan.towel_count,
        pads.collect::<Vec<_>>().join(", "),
        liquid.collect::<Vec<_>>().join(", "),
        on_paint_s(plan) / 60.0,
        job_h(shop, plan),
    )
}

#[test]
fn each_car_takes_what_the_table_says() {
    let shop = shop();
    let plans = plans(&shop);
    let rows = plans.iter();
    let rows = rows.map(|(name, steps, plan)| row(&shop, name, steps, plan));
    let told = TABLE.lines().filter(|line| line.starts_with("| ")).skip(1);
    assert_eq!(
        rows.collect::<Vec<_>>().join("\n"),
        told.collect::<Vec<_>>().join("\n")
    );
}

/// Source: common practice, no source: a medium car takes 6 to 12 towels over two steps, 2 to 5 pads a
/// grade, 30 to 90 mL a step and 4 to 10 hours. Pads and towels are whole, so that the ends are too.
#[test]
fn each_car_is_within_the_trades_rules_of_thumb_by_its_paint() {
    let shop = shop();
    for (name, steps, plan) in plans(&shop) {
        let size = plan.area.mm2() as f64 / MEDIUM_MM2;
        let holds = |least: f64, value: f64, most: f64, what: &str| {
            assert!(
                (least * size..=most * size).contains(&value),
                "{name}, {steps}: {value} {what}"
            );
        };
        let whole = |least: f64, value: i64, most: f64, what: &str| {
            let (least, most) = ((least * size).floor(), (most * size).ceil());
            assert!(
                (least..=most).contains(&(value as f64)),
                "{name}, {steps}: {value} {what}"
            );
        };
        let step_count = plan.steps.len() as f64;
        whole(
            3.0 * step_count,
            plan.towel_count,
            6.0 * step_count,
            "towels",
        );
        for step in &plan.steps {
            whole(2.0, step.pad_count, 5.0, "pads");
            holds(30.0, step.volume.ul() as f64 / 1e3, 90.0, "mL");
        }
        holds(4.0, job_h(&shop, &plan), 10.0, "h");
    }
}
