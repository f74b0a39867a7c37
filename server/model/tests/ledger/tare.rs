//! Goal: a weight of a bottle whose tare nobody knows is never lost, and says what is left as soon as a
//! full bottle of its make and size has been on the scale.
//!
//! Method: a liquid of 250 mL and 1.05 g/mL without a tare. Source: arithmetic: a full bottle holds
//! 262.5 g, so that at 302.5 g it weighs 40 g empty, and one at 145 g holds 105 g, which is 100 mL.

use fettlebook_model::command::{JobLog, LiquidAmount, Said, Weighing};
use fettlebook_model::make::{Figures, Grade, Make};
use fettlebook_model::sums::Sums;
use fettlebook_model::{Command, Deed, Entry, Seq};
use fettlebook_quantity::{Mass, Volume};

use crate::kept::kept;
use crate::shop::{Shop, at, done, flags, id, liquid, make, replayed, saloon_job, step, tag};

const FULL: i64 = 302_500;

/// The worked shop with two bottles of a polish without a tare, B-03 in use since the day before.
fn shop() -> Shop {
    let mut shop = Shop::worked();
    let Figures::Liquid(mut polish) = liquid(Grade::Fine, 250) else {
        panic!("a liquid")
    };
    polish.tare_mg = None;
    shop.say(Command::CreateMake {
        make: make("bare-polish-250ml", Figures::Liquid(polish)),
    });
    shop.receive_as("bare-polish-250ml", 2, |receipt| {
        receipt.said = done("2026-03-04 09:00");
    });
    pour(&mut shop, "B-03", 60, "2026-03-04 12:00");
    shop
}

fn pour(shop: &mut Shop, bottle: &str, ml: i64, when: &str) {
    shop.log_loose(|loose| {
        loose.said = done(when);
        let amount = LiquidAmount::Volume(Volume::from_ul(ml * 1_000));
        loose.bottles = vec![(tag(bottle), amount)];
    })
    .unwrap();
}

fn on_the_scale(bottle: &str, gross_mg: i64) -> Weighing {
    Weighing {
        tag: tag(bottle),
        gross_mg: Mass::from_mg(gross_mg),
    }
}

fn weigh<'a>(shop: &'a mut Shop, bottle: &str, gross_mg: i64, when: &str) -> &'a Entry {
    shop.say(Command::Weigh {
        said: done(when),
        weighings: vec![on_the_scale(bottle, gross_mg)],
    })
}

/// The tares that an entry worked out, g.
fn tares(entry: &Entry) -> Vec<(String, i64)> {
    let tare = |deed: &Deed| match deed {
        Deed::TareFound { tag, tare_mg } => Some((tag.to_string(), tare_mg.mg() / 1_000)),
        _ => None,
    };
    entry.deeds.iter().filter_map(tare).collect()
}

/// The book is what its entries add up to, by themselves and by the sums.
fn adds_up(shop: &Shop) {
    let mut sums = Sums::default();
    shop.entries.iter().for_each(|entry| sums.take(entry));
    assert_eq!(sums.differences(&shop.book), Vec::<String>::new());
    assert_eq!(replayed(&shop.entries), shop.book);
}

#[test]
fn a_weight_waits_until_a_full_bottle_of_its_make_says_the_tare() {
    let mut shop = shop();
    let entry = weigh(&mut shop, "B-03", 145_000, "2026-03-04 14:00");
    assert_eq!((tares(entry), flags(entry)), (vec![], vec![]));
    assert_eq!(shop.left_ul("B-03"), 190_000);
    let entry = weigh(&mut shop, "B-04", FULL, "2026-03-05 09:00");
    let found = vec![("B-03".to_owned(), 40), ("B-04".to_owned(), 40)];
    assert_eq!((tares(entry), flags(entry)), (found, vec![]));
    assert_eq!(
        (shop.left_ul("B-03"), shop.left_ul("B-04")),
        (100_000, 250_000)
    );
    adds_up(&shop);
}

#[test]
fn what_was_used_since_the_weight_is_taken_off_once_the_tare_is_known() {
    let mut shop = shop();
    weigh(&mut shop, "B-03", 145_000, "2026-03-04 14:00");
    pour(&mut shop, "B-03", 30, "2026-03-05 10:00");
    // Reported late: the weight saw it already.
    pour(&mut shop, "B-03", 15, "2026-03-04 13:00");
    weigh(&mut shop, "B-04", FULL, "2026-03-05 11:00");
    assert_eq!(shop.left_ul("B-03"), 70_000);
    adds_up(&shop);
}

#[test]
fn a_tare_goes_with_the_weighing_that_made_it_known() {
    let mut shop = shop();
    let before = shop.book.clone();
    let first = weigh(&mut shop, "B-04", FULL, "2026-03-05 09:00").seq;
    weigh(&mut shop, "B-03", 145_000, "2026-03-05 10:00");
    assert_eq!(shop.left_ul("B-03"), 100_000);
    shop.reverse(first).unwrap();
    // The weight of B-03 was taken all the same, and waits again.
    let bottle = shop.piece("B-03").bottle().unwrap();
    assert_eq!((bottle.found_tare_mg, bottle.left_ul.ul()), (None, 190_000));
    assert_eq!(bottle.waiting.as_ref().unwrap().gross_mg.mg(), 145_000);
    assert_eq!(
        shop.piece("B-04").state,
        before.piece(tag("B-04")).unwrap().state
    );
    adds_up(&shop);
    weigh(&mut shop, "B-04", FULL, "2026-03-05 11:00");
    assert_eq!(shop.left_ul("B-03"), 100_000);
    adds_up(&shop);
}

#[test]
fn a_bottle_that_comes_later_goes_by_the_tare_of_those_before() {
    let mut shop = shop();
    weigh(&mut shop, "B-04", FULL, "2026-03-05 09:00");
    shop.receive("bare-polish-250ml", 1);
    pour(&mut shop, "B-05", 20, "2026-03-05 15:00");
    let entry = weigh(&mut shop, "B-05", 145_000, "2026-03-05 15:00");
    assert_eq!(tares(entry), [("B-05".to_owned(), 40)]);
    assert_eq!(shop.left_ul("B-05"), 100_000);
    adds_up(&shop);
}

#[test]
fn the_tare_given_with_the_make_settles_the_weights_that_wait() {
    let mut shop = shop();
    weigh(&mut shop, "B-03", 145_000, "2026-03-04 14:00");
    let was = shop.book.make(&id("bare-polish-250ml")).unwrap();
    let was = was.as_ref().clone();
    let mut said: Make = was.clone();
    if let Figures::Liquid(liquid) = &mut said.figures {
        liquid.tare_mg = Some(Mass::from_mg(40_000));
    }
    let entry = shop.say(Command::EditMake { was, make: said });
    assert_eq!(tares(entry), [("B-03".to_owned(), 40)]);
    let seq = entry.seq;
    assert_eq!(shop.left_ul("B-03"), 100_000);
    adds_up(&shop);
    shop.reverse(seq).unwrap();
    assert_eq!(shop.left_ul("B-03"), 190_000);
    adds_up(&shop);
}

#[test]
fn a_full_bottle_whose_own_tare_was_said_says_that_of_the_others() {
    let mut shop = shop();
    shop.receive_as("bare-polish-250ml", 1, |receipt| {
        receipt.tare_mg = Some(Mass::from_mg(41_000));
    });
    weigh(&mut shop, "B-03", 145_000, "2026-03-04 14:00");
    let entry = weigh(&mut shop, "B-05", FULL, "2026-03-05 15:00");
    let found = vec![("B-03".to_owned(), 40), ("B-04".to_owned(), 40)];
    assert_eq!(tares(entry), found);
    assert_eq!(shop.left_ul("B-03"), 100_000);
    // By what was said of it: (302.5 g - 41 g) / 1.05 g/mL, to the nearest microlitre.
    assert_eq!(shop.left_ul("B-05"), 249_048);
    adds_up(&shop);
}

/// A weight that cannot be that of a full bottle says no tare, and is flagged: 250 g is less than the
/// 262.5 g of its liquid, and 700 g would make the empty bottle heavier than all it holds.
#[test]
fn a_sealed_bottle_that_is_not_full_by_its_weight_says_no_tare() {
    for gross_mg in [250_000, 700_000] {
        let mut shop = shop();
        let entry = weigh(&mut shop, "B-04", gross_mg, "2026-03-05 09:00");
        assert_eq!(tares(entry), []);
        assert!(flags(entry)[0].contains("not the weight of a bottle with 250 mL"));
        assert!(shop.piece("B-04").needs_count);
        adds_up(&shop);
    }
}

#[test]
fn an_opened_bottle_says_no_tare_even_when_it_was_opened_in_the_same_breath() {
    let mut shop = shop();
    let log = shop.log_loose(|loose| {
        let amount = LiquidAmount::Volume(Volume::from_ul(10_000));
        loose.bottles = vec![(tag("B-04"), amount)];
        loose.weighings = vec![on_the_scale("B-04", FULL)];
    });
    assert_eq!(tares(log.unwrap()), []);
    adds_up(&shop);
}

#[test]
fn a_weight_lighter_than_the_tare_that_was_worked_out_is_recorded_and_flagged() {
    let mut shop = shop();
    weigh(&mut shop, "B-04", FULL, "2026-03-05 09:00");
    let entry = weigh(&mut shop, "B-03", 30_000, "2026-03-05 10:00");
    assert!(flags(entry)[0].contains("lighter than an empty bottle"));
    assert_eq!(shop.left_ul("B-03"), 190_000);
    adds_up(&shop);
}

/// A log of a job never stops for a bottle without a tare, and a weight that waits teaches what the
/// job took once it is known: 250 mL less 100 mL.
#[test]
fn a_log_takes_a_weight_without_a_tare_and_learns_from_it_later() {
    let mut shop = shop();
    let was = shop.book.routine(&id("two-step")).unwrap();
    let was = was.as_ref().clone();
    let mut bare = was.clone();
    bare.steps = vec![step("finish", "fine-foam-150", "bare-polish-250ml")];
    bare.id = id("one-step");
    shop.say(Command::CreateRoutine { routine: bare });
    let mut job = saloon_job("friday", "2026-03-06 08:00");
    job.routine = id("one-step");
    shop.say(Command::BookJob { job });
    shop.count("B-03", 0);
    shop.go_to("2026-03-06 15:00");
    shop.say(Command::LogJob(Box::new(JobLog {
        said: Said::default(),
        job: Some(id("friday")),
        weighings: vec![on_the_scale("B-04", 145_000)],
        ..JobLog::default()
    })));
    let stretches = |shop: &Shop| shop.piece("B-04").bottle().unwrap().tally.stretches.clone();
    assert_eq!(stretches(&shop), []);
    shop.receive("bare-polish-250ml", 1);
    weigh(&mut shop, "B-05", FULL, "2026-03-06 15:00");
    let learnt = stretches(&shop);
    assert_eq!(learnt.len(), 1);
    assert_eq!(
        (learnt[0].actual_quantity, learnt[0].job_count),
        (150_000, 1)
    );
    assert_eq!(learnt[0].until, at("2026-03-06 15:00"));
    assert_eq!(shop.left_ul("B-04"), 100_000);
    adds_up(&shop);
}

/// A van weighed before another poured, and told it later. Source: by hand: 145 g are 100 mL; 20 are poured
/// after that, and 30 before it.
#[test]
fn a_weight_says_what_was_left_when_it_was_weighed_whenever_it_is_told() {
    let mut shop = shop();
    weigh(&mut shop, "B-04", FULL, "2026-03-05 09:00");
    let seen = shop.book.head();
    for (time, volume_ul) in [("2026-03-05 12:00", 20_000), ("2026-03-05 10:00", 30_000)] {
        shop.log_loose(|loose| {
            loose.said = kept("van-b", seen, at(time));
            let amount = LiquidAmount::Volume(Volume::from_ul(volume_ul));
            loose.bottles = vec![(tag("B-03"), amount)];
        })
        .unwrap();
    }
    let entry = shop.say(Command::Weigh {
        said: kept("van-a", seen, at("2026-03-05 11:00")),
        weighings: vec![on_the_scale("B-03", 145_000)],
    });
    assert_eq!(flags(entry), [""; 0]);
    assert_eq!(shop.left_ul("B-03"), 80_000);
    assert_eq!(shop.book.head(), Seq(shop.entries.len() as u64));
    adds_up(&shop);
}
