//! What the check says of chances: the job's as that of its lines together, watched below the target.

use fettlebook_model::check::{JobCheck, Line, LineKind, Verdict, check_jobs};
use fettlebook_model::command::NotebookRow;
use fettlebook_model::policy::PolicyKey;
use fettlebook_quantity::Volume;
use proptest::collection::vec;
use proptest::prelude::{ProptestConfig, prop_assert, prop_assert_eq, proptest};

use super::{COARSE, FINE, worn};
use crate::shop::{Shop, id, retired};

/// A shop that carries the two-step but for its pads for cutting, which are so worn, so many others
/// having torn at half their life.
fn cutting_with(permilles: &[i64], torn: usize) -> Shop {
    let mut shop = Shop::new();
    let rows = permilles.iter().enumerate();
    let mut rows: Vec<NotebookRow> = rows
        .map(|(at, permille)| worn(&format!("P-{:02}", at + 1), COARSE, *permille))
        .collect();
    rows.extend(
        (0..torn).map(|at| retired(&format!("P-{}", 100 + at), COARSE, 65_000_000, "torn")),
    );
    shop.import(rows);
    shop.receive(FINE, 12);
    shop.receive("coarse-compound-1l", 1);
    shop.receive("fine-polish-500ml", 1);
    shop.receive_towels(24, 0);
    shop.receive("nitrile-gloves", 1);
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop
}

fn check(shop: &Shop) -> JobCheck {
    check_jobs(&shop.book, &[id("thursday")], shop.now)
        .unwrap()
        .remove(0)
}

fn cut(check: &JobCheck) -> &Line {
    let is_cut = |line: &&Line| line.kind == LineKind::Pad && line.step == Some(id("cut"));
    check.lines.iter().find(is_cut).unwrap()
}

fn product(check: &JobCheck) -> f64 {
    check.lines.iter().filter_map(|line| line.chance).product()
}

fn weakest(check: &JobCheck) -> f64 {
    let chances = check.lines.iter().filter_map(|line| line.chance);
    chances.fold(1.0, f64::min)
}

/// Source: independence by hand: where every job is ordinary, pads of two makes and two liquids have
/// nothing in common, and their chances multiply. A hard job is hard on the pads of both steps at
/// once, so that less is lost by the second: more than the product, and no more than the weakest.
#[test]
fn the_chance_of_the_job_is_that_of_its_lines_together() {
    let mut shop = cutting_with(&[500; 6], 2);
    let spread = check(&shop);
    let with: Vec<_> = spread
        .lines
        .iter()
        .filter(|line| line.chance.is_some())
        .collect();
    let kinds: Vec<_> = with.iter().map(|line| line.kind).collect();
    use LineKind::{Liquid, Pad};
    assert_eq!(kinds, [Pad, Pad, Liquid, Liquid]);
    assert!(with.iter().all(|line| !line.rests_on.is_empty()));
    let chance = spread.carry_chance.unwrap();
    assert!(
        product(&spread) <= chance + 1e-6 && chance <= weakest(&spread) + 1e-6,
        "{chance}"
    );
    shop.set_policy(PolicyKey::SeverityLogSdPermille, 0);
    let ordinary = check(&shop);
    let chance = ordinary.carry_chance.unwrap();
    assert!((chance - product(&ordinary)).abs() < 1e-6, "{chance}");
    assert!(product(&ordinary) < 0.95);
}

/// Two steps of one job, and each make has lives of its own.
#[test]
fn each_make_is_weighed_by_its_own_lives() {
    let check = check(&cutting_with(&[500; 6], 2));
    let pads = check.lines.iter().filter(|line| line.kind == LineKind::Pad);
    let rest: Vec<_> = pads.map(|line| line.rests_on.as_str()).collect();
    assert_eq!(
        rest,
        [
            "Rests on 2 retirements here and the rating.",
            "Rests on the rating only."
        ]
    );
}

#[test]
fn fresh_kit_has_its_chance() {
    let check = check(&cutting_with(&[0; 8], 0));
    assert_eq!(check.carry_target, 0.95);
    assert!(
        check.carry_chance.unwrap() >= 0.95,
        "{:?}",
        check.carry_chance
    );
    assert_eq!(cut(&check).verdict, Verdict::Go);
}

/// Nothing holds the target: the best there is goes, the line says what to buy, and with that it does.
#[test]
fn below_the_target_the_weakest_line_is_watched_and_says_what_to_buy() {
    let mut shop = cutting_with(&[900; 9], 30);
    let before = check(&shop);
    let line = cut(&before);
    let chance = line.chance.unwrap();
    assert!(before.carry_chance.unwrap() < 0.95);
    assert_eq!((line.verdict, line.short), (Verdict::Watch, 0));
    let percent = chance * 100.0;
    let why = format!("It carries the job {percent:.0} times in 100.");
    assert!(line.reason.contains(&why), "{}", line.reason);
    assert!(line.buy > 0);
    let todo = format!(
        "Buy {} more of coarse foam 150 for the chance that you aim at.",
        line.buy
    );
    assert!(line.todos.contains(&todo), "{:?}", line.todos);
    assert_eq!(before.verdict, Verdict::Watch);
    let others = before
        .lines
        .iter()
        .filter(|line| line.kind != LineKind::Film);
    let watched: Vec<_> = others
        .filter(|line| line.verdict == Verdict::Watch)
        .collect();
    assert_eq!(watched.len(), 1, "{watched:?}");

    let buy = line.buy;
    shop.receive(COARSE, buy);
    let after = check(&shop);
    assert!(
        after.carry_chance.unwrap() >= 0.95,
        "{:?}",
        after.carry_chance
    );
    assert_eq!(cut(&after).buy, 0);
    assert!(
        !cut(&after).reason.contains("times in 100"),
        "{}",
        cut(&after).reason
    );
}

/// A line that is short asks for what is missing alone, and says what it costs to go without.
#[test]
fn a_line_that_is_short_asks_for_what_is_missing_and_says_what_the_others_carry() {
    let mut shop = cutting_with(&[0; 4], 0);
    let few = check(&shop);
    let line = cut(&few);
    assert_eq!((line.verdict, line.short, line.buy), (Verdict::Watch, 1, 1));
    let buys = line
        .todos
        .iter()
        .filter(|todo| todo.starts_with("Buy"))
        .count();
    assert_eq!(buys, 1, "{:?}", line.todos);
    assert!(
        line.reason.contains("The 4 there take all of it"),
        "{}",
        line.reason
    );
    assert!(
        !line.reason.contains("It carries the job"),
        "{}",
        line.reason
    );
    shop.lose("P-01 P-02 P-03 P-04");
    let none = check(&shop);
    assert_eq!(
        (none.carry_chance, cut(&none).verdict),
        (Some(0.0), Verdict::Stop)
    );
}

#[test]
fn a_chance_that_is_next_to_nothing_is_said_so() {
    let mut shop = cutting_with(&[0; 7], 0);
    let torn = |at: i64| retired(&format!("P-{}", 100 + at), COARSE, 0, "torn");
    shop.import((0..300).map(torn).collect());
    shop.edit_pad(COARSE, |figures| figures.rated_work_sections = Some(40));
    let check = check(&shop);
    let why = "It carries the job less than 1 time in 100.";
    assert!(cut(&check).reason.contains(why), "{}", cut(&check).reason);
}

#[test]
fn the_target_is_a_policy_of_the_book() {
    let mut shop = cutting_with(&[500; 6], 2);
    let chance = check(&shop).carry_chance.unwrap();
    assert!((0.6..0.949).contains(&chance), "{chance}");
    assert_eq!(cut(&check(&shop)).verdict, Verdict::Watch);
    shop.set_policy(PolicyKey::CarryTargetPermille, 600);
    let lower = check(&shop);
    assert_eq!(lower.carry_target, 0.6);
    assert_eq!(cut(&lower).verdict, Verdict::Go, "{}", cut(&lower).reason);
    assert_eq!(cut(&lower).buy, 0);
}

/// The job's target is what counts: a line below its share of it asks for nothing where the others make
/// up for it.
#[test]
fn a_job_that_has_its_chance_asks_for_nothing() {
    let mut seen = 0;
    for permille in (0..600).step_by(10) {
        let check = check(&cutting_with(&[permille; 6], 0));
        let line = cut(&check);
        if check.carry_chance.unwrap() >= 0.95 {
            seen += usize::from(line.chance.unwrap() < 0.95_f64.powf(0.25));
            assert_eq!(
                (line.verdict, line.buy),
                (Verdict::Go, 0),
                "{permille} {line:?}"
            );
            assert_eq!(line.todos, [""; 0], "{permille}");
        } else {
            assert_eq!(line.verdict, Verdict::Watch, "{permille}");
        }
    }
    assert!(seen > 0);
}

/// A bottle that may not suffice although the plan says so is watched, and another is asked for.
#[test]
fn a_bottle_that_may_not_suffice_is_watched() {
    let mut shop = cutting_with(&[0; 8], 0);
    shop.lose("B-01");
    shop.receive_as("coarse-compound-1l", 1, |receipt| {
        receipt.volume_ul = Some(Volume::from_ul(95_000));
    });
    let before = check(&shop);
    let is_compound = |line: &&Line| line.make == Some(id("coarse-compound-1l"));
    let line = before.lines.iter().find(is_compound).unwrap();
    let chance = line.chance.unwrap();
    assert!((0.5..0.9).contains(&chance), "{chance}");
    assert_eq!((line.verdict, line.short, line.buy), (Verdict::Watch, 0, 1));
    let todo = "Buy 1 more of coarse compound 1l for the chance that you aim at.";
    assert!(
        line.todos.iter().any(|said| said == todo),
        "{:?}",
        line.todos
    );
    shop.receive("coarse-compound-1l", 1);
    let after = check(&shop);
    let line = after.lines.iter().find(is_compound).unwrap();
    assert_eq!((line.verdict, line.buy), (Verdict::Go, 0));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// Whatever the kit, a job below its target is watched with a reason, and one that has it is not
    /// watched for its chance; nothing is asked for without a reason.
    #[test]
    fn chances_watch_a_job_exactly_below_its_target(
        permilles in vec(0_i64..1_400, 6..14),
        finishing in vec(0_i64..900, 5..9),
        torn in 0_usize..12,
        target in 500_i64..=999,
    ) {
        let mut shop = cutting_with(&permilles, torn);
        let make = id(FINE);
        let fine = shop.book.pieces_of(&make).map(|piece| piece.tag.to_string());
        let fine: Vec<String> = fine.collect();
        shop.lose(&fine.join(" "));
        let worn_fine = |(at, permille): (usize, &i64)| worn(&format!("F-{:02}", at + 1), FINE, *permille);
        shop.import(finishing.iter().enumerate().map(worn_fine).collect());
        shop.set_policy(PolicyKey::CarryTargetPermille, target);
        let check = check(&shop);
        let chance = check.carry_chance.unwrap();
        prop_assert!(product(&check) <= chance + 1e-6 && chance <= weakest(&check) + 1e-6);
        let said = check.lines.iter().filter(|line| line.reason.contains("It carries the job"));
        prop_assert_eq!(said.count() > 0, chance < check.carry_target);
        prop_assert!(cut(&check).verdict < Verdict::Stop);
        for line in &check.lines {
            prop_assert!(line.todos.is_empty() || !line.reason.is_empty(), "{:?}", line);
            prop_assert!(line.buy == 0 || line.verdict > Verdict::Go, "{:?}", line);
        }
    }
}
