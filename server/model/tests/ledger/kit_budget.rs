//! What has to be replaced in 4, 8 and 12 weeks, by booked and usual jobs, and what that costs.
//!
//! The shop of the tests stands on Wednesday 4 March 2026; its two-step takes nine pad changes of a plate, two
//! pairs of gloves and a wash of its bundle of 24 towels.

use std::sync::Arc;

use fettlebook_model::kit_budget::{BudgetLine, BudgetTotal, CostSpread, KitBudget, kit_budget};
use fettlebook_model::make::{Figures, Make};
use fettlebook_model::money::Money;
use fettlebook_model::{Book, Command, Reason, Record};
use fettlebook_quantity::Volume;

use crate::shop::{Shop, eur, id, money, records};

const PLATE: &str = "plate-125-m8";
const TOWEL: &str = "edgeless-towel-400g";
const GLOVES: &str = "nitrile-gloves";

fn budget(shop: &Shop) -> KitBudget {
    kit_budget(&shop.book, shop.now).unwrap()
}

/// The line of a make over so many weeks; `None` where nothing of it has to be replaced.
fn line(shop: &Shop, make: &str, weeks: i64) -> Option<BudgetLine> {
    let mut lines = budget(shop).lines.into_iter();
    lines.find(|line| line.make == id(make) && line.weeks == weeks)
}

fn total(shop: &Shop, weeks: i64) -> BudgetTotal {
    let mut totals = budget(shop).totals.into_iter();
    totals.find(|total| total.weeks == weeks).unwrap()
}

/// How many have to be replaced for sure.
fn sure(shop: &Shop, make: &str, weeks: i64) -> f64 {
    let Some(line) = line(shop, make, weeks) else {
        return 0.0;
    };
    assert_eq!(
        (line.count.low, line.count.high),
        (line.count.mean, line.count.mean)
    );
    line.count.mean
}

fn edit(shop: &mut Shop, make: &str, change: impl FnOnce(&mut Make)) {
    let was = shop.book.make(&id(make)).unwrap().as_ref().clone();
    let mut make = was.clone();
    change(&mut make);
    shop.say(Command::EditMake { was, make });
}

/// A plate that is rated for so many pad changes, and for no hours.
fn plate_of(shop: &mut Shop, changes: i64) {
    edit(shop, PLATE, |make| {
        if let Figures::Plate(plate) = &mut make.figures {
            plate.rated_change_count = Some(changes);
            plate.rated_run_h = Some(1_000_000);
        }
    });
}

/// Works the two-step so many weeks running, with the pads dry again after each.
fn work_weekly(shop: &mut Shop, weeks: i64) {
    for week in 0..weeks {
        let day = jiff::civil::date(2026, 3, 5) + jiff::Span::new().weeks(week);
        let job = format!("week-{week}");
        shop.book_saloon(&job, &format!("{day} 08:00"));
        shop.go_to(&format!("{day} 15:00"));
        shop.log(&job);
        let soiled: Vec<String> = (shop.book.pieces())
            .filter(|piece| piece.pad().is_some())
            .map(|piece| piece.tag.to_string())
            .collect();
        shop.wash(&soiled.join(" "));
        shop.mark_dry(&soiled.join(" "));
        shop.wash("T-01");
        shop.mark_dry("T-01");
    }
}

/// Source: arithmetic: nine changes a job and twenty rated, so that the third job within the weeks ends the
/// plate, the fifth the one that follows it.
#[test]
fn a_plate_is_replaced_when_booked_jobs_use_its_rating_up() {
    let mut shop = Shop::stocked();
    plate_of(&mut shop, 20);
    shop.book_saloon("one", "2026-03-10 08:00");
    shop.book_saloon("two", "2026-03-20 08:00");
    assert_eq!(sure(&shop, PLATE, 4), 0.0);
    shop.book_saloon("three", "2026-04-10 08:00");
    assert_eq!((sure(&shop, PLATE, 4), sure(&shop, PLATE, 8)), (0.0, 1.0));
    shop.book_saloon("four", "2026-05-10 08:00");
    shop.book_saloon("five", "2026-05-20 08:00");
    shop.book_saloon("six", "2026-06-20 08:00");
    let counts = [4, 8, 12].map(|weeks| sure(&shop, PLATE, weeks));
    assert_eq!(counts, [0.0, 1.0, 2.0]);
    let booked = [4, 8, 12].map(|weeks| total(&shop, weeks).booked_job_count);
    assert_eq!(booked, [2, 3, 5]);
}

/// Source: arithmetic: washed 48 times of the 50 of the policy, and once after each job; 24 towels at 3.00 the
/// towel are 72.00.
#[test]
fn a_bundle_is_replaced_whole_when_its_washes_are_used_up_and_costs_its_towels() {
    let mut shop = Shop::new();
    shop.receive_towels(24, 48);
    shop.price(TOWEL, "36.00", 12);
    shop.book_saloon("one", "2026-03-10 08:00");
    assert_eq!(sure(&shop, TOWEL, 8), 0.0);
    shop.book_saloon("two", "2026-04-10 08:00");
    assert_eq!(sure(&shop, TOWEL, 4), 0.0);
    assert_eq!(sure(&shop, TOWEL, 8), 1.0);
    assert_eq!(
        line(&shop, TOWEL, 8).unwrap().cost.unwrap().mean,
        eur("72.00")
    );
}

/// One that has had its washes has to be replaced whether a job comes or not.
#[test]
fn what_has_come_to_its_end_already_is_due_at_once() {
    let mut shop = Shop::new();
    shop.receive_towels(24, 50);
    assert_eq!(sure(&shop, TOWEL, 4), 1.0);
}

/// Source: arithmetic: five pairs left and two a job, so that the third job empties the pack; with none left
/// one has to come at once, and 50 pairs more do for 12 jobs.
#[test]
fn a_pack_is_replaced_when_it_is_empty_and_what_is_empty_waits_for_nothing() {
    let mut shop = Shop::stocked();
    shop.count("S-01", 5);
    shop.book_saloon("one", "2026-03-10 08:00");
    shop.book_saloon("two", "2026-03-11 08:00");
    assert_eq!(sure(&shop, GLOVES, 4), 0.0);
    shop.book_saloon("three", "2026-03-12 08:00");
    assert_eq!(sure(&shop, GLOVES, 4), 1.0);
    shop.count("S-01", 0);
    assert_eq!(sure(&shop, GLOVES, 12), 1.0);
    shop.receive(GLOVES, 1);
    assert_eq!(sure(&shop, GLOVES, 12), 0.0);
}

/// Source: by hand, of a bottle with 100 mL above its heel and one job of 61.5 mL with a variance of
/// 0.0225 · 61.5² · (3 + 1): it is emptied as often as a gamma of that mean and variance is above 100.
#[test]
fn a_bottle_is_replaced_as_often_as_the_job_takes_more_than_it_holds() {
    let mut shop = Shop::stocked();
    shop.count("B-01", 130_000);
    shop.book_saloon("one", "2026-03-10 08:00");
    let count = line(&shop, "coarse-compound-1l", 4).unwrap().count;
    // 1 − P(a, x) of the regularised gamma function at a = 1 / 0.09 and x = 100 / (61.5 · 0.09).
    assert!((count.mean - 0.031_5).abs() < 1e-4, "{count:?}");
}

/// Source: by hand: 10 jobs in 10 weeks and a week's worth of none before are 10/11 a week, so 3.636 in four;
/// those that are booked are no part of them.
#[test]
fn jobs_that_usually_come_are_counted_beside_those_that_are_booked() {
    let mut shop = Shop::stocked();
    work_weekly(&mut shop, 10);
    assert!((total(&shop, 4).usual_job_count - 40.0 / 11.0).abs() < 1e-9);
    let said = budget(&shop).rests_on;
    let expected = "No booked job, and beside them what usually comes: 1.0 a week, by 10 jobs done in the \
         last 10 weeks.";
    assert_eq!(said, expected);
    shop.book_saloon("next", "2026-05-12 08:00");
    shop.book_saloon("after", "2026-05-13 08:00");
    let total = total(&shop, 4);
    assert!((total.usual_job_count + 2.0 - 40.0 / 11.0).abs() < 1e-9);
    assert_eq!(total.booked_job_count, 2);
}

/// Two liquids and the gloves, so little of each in a bottle or pack that every job uses some up.
fn small_packs(shop: &mut Shop) {
    for make in ["coarse-compound-1l", "fine-polish-500ml"] {
        edit(shop, make, |make| {
            if let Figures::Liquid(liquid) = &mut make.figures {
                liquid.bottle_ul = Volume::from_ul(30_000);
            }
            make.price = Some(eur("10.00"));
        });
    }
    edit(shop, GLOVES, |make| {
        if let Figures::Sundry(sundry) = &mut make.figures {
            sundry.pack_quantity = 2;
        }
        make.price = Some(eur("10.00"));
    });
}

/// The sum is that of the lines, and as wide as they are together: a busy month is busy for all of them. If each
/// went its own way the range of three alike would be their sum over √3.
#[test]
fn the_sum_is_that_of_the_lines_and_varies_with_all_of_them_together() {
    let mut shop = Shop::stocked();
    work_weekly(&mut shop, 9);
    small_packs(&mut shop);
    let budget = budget(&shop);
    let euros = |sum: Money| f64::try_from(sum.amount).unwrap();
    let lines = budget.lines.iter().filter(|line| line.weeks == 12);
    let costs: Vec<_> = lines.filter_map(|line| line.cost).collect();
    assert_eq!(costs.len(), 3);
    let whole = budget.totals.last().unwrap().cost.unwrap();
    let sum: f64 = costs.iter().map(|cost| euros(cost.mean)).sum();
    assert!((euros(whole.mean) - sum).abs() < 0.05, "{whole:?} {sum}");
    let spread = |cost: &CostSpread| euros(cost.high) - euros(cost.low);
    let apart: f64 = costs.iter().map(spread).sum();
    assert!(spread(&whole) > 0.8 * apart, "{} {apart}", spread(&whole));
}

#[test]
fn a_price_that_is_not_known_is_told_and_is_no_nothing() {
    let mut shop = Shop::new();
    for make in ["coarse-compound-1l", "fine-polish-500ml", GLOVES] {
        shop.receive(make, 1);
    }
    shop.count("S-01", 2);
    plate_of(&mut shop, 9);
    // There is a currency, but no price of what wears.
    shop.price("orbital-150", "300.00", 1);
    shop.book_saloon("one", "2026-03-10 08:00");
    let none = total(&shop, 4);
    assert_eq!((none.cost, none.unpriced.len()), (None, 2));
    let said = "No price is known of nitrile-gloves and plate-125-m8, so that there is no sum.";
    assert_eq!(budget(&shop).caveats[0], said);
    shop.price(GLOVES, "12.00", 1);
    let some = total(&shop, 4);
    assert_eq!(some.cost.unwrap().mean, eur("12.00"));
    assert_eq!(some.unpriced, [id(PLATE)]);
    let said = "No price is known of plate-125-m8: the sums are without it.";
    assert_eq!(budget(&shop).caveats[0], said);
    shop.price(PLATE, "24.50", 1);
    assert_eq!(total(&shop, 4).cost.unwrap().mean, eur("36.50"));
    assert!(!budget(&shop).caveats[0].contains("No price"));
}

#[test]
fn prices_in_two_currencies_are_refused_and_an_empty_book_costs_nothing() {
    let empty = budget(&Shop::empty());
    assert_eq!((empty.lines.len(), empty.totals.len()), (0, 3));
    assert_eq!(empty.totals[0].cost, None);
    let mut shop = Shop::stocked();
    shop.price(GLOVES, "12.00", 1);
    shop.price(PLATE, "24.50", 1);
    // Neither is such a price taken, nor does a journal hold one.
    let records = records(&shop.book).into_iter().map(|(subject, record)| {
        let record = match record {
            Record::Make(make) if make.id == id(PLATE) => Record::Make(Arc::new(Make {
                price: Some(money("24.50", "GBP")),
                ..Make::clone(&make)
            })),
            other => other,
        };
        (subject, record)
    });
    let mixed = Book::restore(shop.book.head(), records);
    let refused = kit_budget(&mixed, shop.now).unwrap_err();
    assert_eq!(refused.reason, Reason::CurrencyMismatch);
}

/// What was set aside neither works nor wears: the pads that are left do all of it.
#[test]
fn fewer_pads_wear_out_sooner() {
    let mut shop = Shop::stocked();
    for day in 10..20 {
        shop.book_saloon(&format!("job-{day}"), &format!("2026-03-{day} 08:00"));
    }
    let all = line(&shop, "coarse-foam-150", 4).unwrap().count.mean;
    shop.set_aside("P-01 P-02 P-03");
    let four = line(&shop, "coarse-foam-150", 4).unwrap().count.mean;
    assert!(four > all, "{four} {all}");
}
