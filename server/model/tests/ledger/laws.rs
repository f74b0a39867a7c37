//! Goal: whatever is said to the book, in whatever order, its laws hold.
//!
//! Method: random commands, some of them nonsense or late, are said to the stocked shop; the laws are
//! looked at after each and at the end. Time runs forward by the hour, and what is reported may have
//! been done days before.

mod act;
mod hours;

use fettlebook_model::check::{JobCheck, Line, Verdict, check_jobs};
use fettlebook_model::job::{JobState, Step};
use fettlebook_model::job_cost::{CostRecord, job_cost};
use fettlebook_model::kit::State;
use fettlebook_model::make::{Figures, Grade, Make, PadMaterial};
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::real_use::RealUse;
use fettlebook_model::reorder::reorder_list;
use fettlebook_model::sums::Sums;
use fettlebook_model::tool::ToolKind;
use fettlebook_model::wear_report::{make_wear, worn_makes};
use fettlebook_model::{Book, Command, Deed, Entry, Id, Record, Seq, Subject};
use jiff::SignedDuration;
use proptest::prelude::{ProptestConfig, prop_assert, prop_assert_eq, proptest};
use rust_decimal::Decimal;

use crate::cost::about_stock;
use crate::shop::{
    Shop, battery, eur, foam, id, liquid, make, records, replayed, restored, routine, saloon_job,
    step, tern_quay, tool,
};
use act::{Act, acts};

/// The stocked shop with a supplier, something on its way, and two jobs to come.
fn shop() -> Shop {
    let mut shop = Shop::stocked();
    shop.supply(tern_quay());
    shop.order_packs("tern-quay", "coarse-foam-150", 3);
    shop.book_saloon("job-1", "2026-03-05 08:00");
    shop.book_saloon("job-2", "2026-03-06 08:00");
    bottles_without_tare(&mut shop);
    let make = make("film-gauge", tool(ToolKind::FilmGauge));
    shop.say(Command::CreateMake { make });
    shop.receive("film-gauge", 1);
    job_by_hand(&mut shop);
    let make = crate::shop::make("battery-18", battery(&["orbital-150"], 150));
    shop.say(Command::CreateMake { make });
    shop.receive("battery-18", 2);
    shop
}

/// A job without a machine, with the applicators P-13 and P-14.
fn job_by_hand(shop: &mut Shop) {
    let Figures::Pad(mut applicator) = foam(Grade::Fine, 90) else {
        panic!("a pad")
    };
    applicator.material = PadMaterial::Applicator;
    let make = make("hand-applicator", Figures::Pad(applicator));
    shop.say(Command::CreateMake { make });
    shop.receive("hand-applicator", 2);
    let edges = Step {
        machine_make: None,
        ..step("edges", "hand-applicator", "fine-polish-500ml")
    };
    let routine = routine("by-hand", vec![edges]);
    shop.say(Command::CreateRoutine { routine });
    let mut job = saloon_job("job-3", "2026-03-07 08:00");
    job.routine = id("by-hand");
    shop.say(Command::BookJob { job });
}

/// Two bottles, B-03 and B-04, that nobody knows the tare of.
fn bottles_without_tare(shop: &mut Shop) {
    let Figures::Liquid(mut polish) = liquid(Grade::Fine, 250) else {
        panic!("a liquid")
    };
    polish.tare_mg = None;
    let make = make("bare-polish-250ml", Figures::Liquid(polish));
    shop.say(Command::CreateMake { make });
    shop.receive("bare-polish-250ml", 2);
}

/// The shop after these have been said, as far as they were taken.
fn after(acts: &[Act]) -> Shop {
    let mut shop = shop();
    for act in acts {
        shop.now += SignedDuration::from_hours(act.wait_h);
        let command = act.command(&shop);
        let _ = shop.try_say(command);
    }
    shop
}

/// The records of a book without the marks that keep tags and ids from being used again.
fn standing(book: &Book) -> Vec<(Subject, Record)> {
    records(book)
        .into_iter()
        .filter(|(_, record)| *record != Record::TakenBack)
        .collect()
}

/// The records of a book without money, suppliers and orders.
fn unpriced(book: &Book) -> Vec<(Subject, Record)> {
    let bought = |subject: &Subject| matches!(subject, Subject::Supplier(_) | Subject::Order(_));
    let records = records(book).into_iter();
    let records = records.filter(|(subject, _)| !bought(subject));
    let strip = |record| match record {
        Record::Make(make) => {
            let mut make = make.as_ref().clone();
            make.price = None;
            Record::Make(make.into())
        }
        Record::Piece(piece) => {
            let mut piece = piece.as_ref().clone();
            piece.cost = None;
            Record::Piece(piece.into())
        }
        Record::Policy(policy) => {
            let mut policy = policy.as_ref().clone();
            policy.put(PolicyKey::EnergyPriceMilli, None);
            Record::Policy(policy.into())
        }
        other => other,
    };
    records
        .map(|(subject, record)| (subject, strip(record)))
        .collect()
}

/// The entry that this one reverses, if it is a reversal.
fn reverses(entry: &Entry) -> Option<Seq> {
    entry.deeds.iter().find_map(|deed| match deed {
        Deed::Reversed { seq } => Some(*seq),
        _ => None,
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// A refused command changes nothing, and the newest entry reversed is as if it had not been.
    #[test]
    fn the_newest_entry_can_be_reversed_and_then_nothing_has_happened(acts in acts()) {
        let mut shop = shop();
        for act in acts {
            shop.now += SignedDuration::from_hours(act.wait_h);
            let before = shop.book.clone();
            let command = act.command(&shop);
            let taken = shop.try_say(command).map(|entry| (entry.seq, reverses(entry)));
            match taken {
                Err(_) => prop_assert_eq!(&shop.book, &before),
                Ok((_, Some(_))) => {}
                Ok((seq, None)) => {
                    let mut other = shop.clone();
                    other.reverse(seq).unwrap();
                    prop_assert_eq!(standing(&other.book), standing(&before), "{:?}", act);
                }
            }
        }
    }

    /// Entries and records each give the book again, and so do the entries that were not reversed.
    #[test]
    fn the_book_is_what_its_entries_and_its_records_say(acts in acts()) {
        let shop = after(&acts);
        prop_assert_eq!(&replayed(&shop.entries), &shop.book);
        prop_assert_eq!(&restored(&shop.book), &shop.book);
        let reversed: Vec<Seq> = shop.entries.iter().filter_map(reverses).collect();
        let stand = shop
            .entries
            .iter()
            .filter(|entry| reverses(entry).is_none() && !reversed.contains(&entry.seq));
        prop_assert_eq!(standing(&replayed(stand)), standing(&shop.book));
    }

    /// What is left of each piece, and what it has behind it, is what its entries add up to.
    #[test]
    fn every_piece_is_what_its_entries_add_up_to(acts in acts()) {
        let shop = after(&acts);
        let mut sums = Sums::default();
        shop.entries.iter().for_each(|entry| sums.take(entry));
        prop_assert_eq!(sums.differences(&shop.book), Vec::<String>::new());
    }

    /// What is said of money, suppliers and orders can be left out, and the kit, its wear and every
    /// check stay what they are.
    #[test]
    fn a_book_without_prices_is_the_same_but_for_money(acts in acts()) {
        let mut shop = after(&acts);
        let was = shop.book.make(&id("coarse-foam-150")).unwrap().as_ref().clone();
        let make = Make {
            price: Some(eur("11.90")),
            ..was.clone()
        };
        shop.say(Command::EditMake { was, make });
        let changes = vec![
            (PolicyKey::EnergyPriceMilli, Some(412)),
            (PolicyKey::DotUl, Some(260)),
        ];
        let note = String::new();
        shop.say(Command::SetPolicies { changes, note });
        let stripped: Vec<Entry> = shop.entries.iter().map(Entry::without_prices).collect();
        let line = |entries: &[Entry]| serde_json::to_string(entries).unwrap();
        prop_assert!(line(&shop.entries).contains("EUR"));
        for word in ["EUR", "tern-quay", "order-", "energy_price"] {
            prop_assert!(!line(&stripped).contains(word), "{}", word);
        }
        let book = replayed(&stripped);
        prop_assert_eq!(book.head(), shop.book.head());
        prop_assert_eq!(records(&book), unpriced(&shop.book));
        let booked: Vec<Id> = shop.book.booked_jobs().map(|job| job.id.clone()).collect();
        // What to buy goes by prices and by what is on its way, which that book does not have.
        let of_line = |line: &Line| {
            let counts = (line.need, line.have, line.short);
            format!("{:?} {counts:?} {:?} {:?}", line.kind, line.picks, line.chance)
        };
        let of_check = |check: &JobCheck| {
            let lines: Vec<String> = check.lines.iter().map(of_line).collect();
            format!("{:?} {:?} {lines:?}", check.verdict, check.carry_chance)
        };
        let checks = |book: &Book| {
            let checks = check_jobs(book, &booked, shop.now);
            checks.map(|checks| checks.iter().map(of_check).collect::<Vec<_>>())
        };
        prop_assert_eq!(checks(&book), checks(&shop.book));
        let wear = |book: &Book| {
            let makes = worn_makes(book).into_iter();
            let wear: Vec<_> = makes.map(|make| make_wear(book, make, shop.now)).collect();
            format!("{wear:?}")
        };
        prop_assert_eq!(wear(&book), wear(&shop.book));
    }

    /// A check answers for every booked job, is as grave as its gravest line, and changes nothing.
    #[test]
    fn every_booked_job_can_be_checked(acts in acts()) {
        let shop = after(&acts);
        let before = shop.book.clone();
        let booked: Vec<Id> = shop.book.booked_jobs().map(|job| job.id.clone()).collect();
        let checks = check_jobs(&shop.book, &booked, shop.now).unwrap();
        prop_assert_eq!(&shop.book, &before);
        prop_assert_eq!(checks.len(), booked.len());
        for check in checks {
            let gravest = check.lines.iter().map(|line| line.verdict).max();
            prop_assert_eq!(Some(check.verdict), gravest);
            for line in check.lines {
                let missing = (line.need - line.have).max(0);
                let is_brought = line.todos.iter().any(|todo| todo.starts_with("Move "));
                prop_assert!(line.short == missing || is_brought && line.short < missing, "{:?}", line);
                prop_assert!(line.short == 0 || line.verdict > Verdict::Go);
                prop_assert!(line.verdict < Verdict::Stop || !line.todos.is_empty(), "{:?}", line);
                prop_assert!(line.verdict == Verdict::Go || !line.reason.is_empty());
            }
        }
    }

    /// No order has more of it received than was asked for, and what came has a cost in the book's
    /// currency.
    #[test]
    fn no_more_comes_of_an_order_than_was_ordered(acts in acts()) {
        let shop = after(&acts);
        for order in shop.book.orders() {
            for line in &order.lines {
                let received = line.received_pack_count;
                prop_assert!((0..=line.pack_count).contains(&received), "{:?}", order);
            }
            let came = order.lines.iter().any(|line| line.received_pack_count > 0);
            prop_assert_eq!(order.delivered_at.is_some(), came, "{:?}", order);
            prop_assert!(order.placed_at.is_some() == order.due_on.is_some(), "{:?}", order);
        }
        for cost in shop.book.pieces().filter_map(|piece| piece.cost) {
            prop_assert!(cost.landed.currency == eur("1").currency && cost.quantity > 0);
            prop_assert!(!cost.landed.amount.is_sign_negative());
            prop_assert!(cost.average > Decimal::ZERO, "{:?}", cost);
        }
    }

    /// Every job can be costed, in sums that are in order, and a list of what to order drawn up; neither
    /// changes anything.
    #[test]
    fn every_job_can_be_costed_and_a_list_drawn_up(acts in acts()) {
        let shop = after(&acts);
        let before = shop.book.clone();
        for job in shop.book.jobs() {
            let subject = Subject::Job(job.id.clone());
            let is_about = |entry: &&Entry| entry.deeds.iter().any(|deed| deed.subject() == subject);
            let about: Vec<Entry> = shop.entries.iter().filter(is_about).cloned().collect();
            let stock = about_stock(&shop, job.id.as_str());
            let record = CostRecord { job: &about, stock: &stock };
            let sheet = match job_cost(&shop.book, job, record) {
                Ok(sheet) => sheet,
                // The only supplier may have been given an empty list.
                Err(refusal) => {
                    prop_assert_eq!(refusal.field, "make.price");
                    continue;
                }
            };
            let lines = sheet.lines.iter().map(|line| [line.low, line.typical, line.high]);
            for sums in lines.chain([[sheet.low, sheet.typical, sheet.high]]) {
                let sums = sums.map(|money| money.amount);
                prop_assert!(sums.is_sorted() && !sums[0].is_sign_negative(), "{:?}", sums);
            }
            let is_done = matches!(job.state, JobState::Done(_));
            prop_assert_eq!(sheet.actual.is_some(), is_done);
        }
        let list = reorder_list(&shop.book, None, None, shop.now).unwrap();
        prop_assert_eq!(&shop.book, &before);
        for line in list.baskets.iter().flat_map(|basket| &basket.lines) {
            prop_assert!(line.need_count > 0 && line.pack_count > 0, "{:?}", line);
            prop_assert!(line.pack_count * line.pieces_per_pack >= line.need_count, "{:?}", line);
            prop_assert!(!line.reason.is_empty() && !line.if_skipped.is_empty());
        }
    }

    /// Nobody holds less than nothing, whatever was said of pads and towels.
    #[test]
    fn no_count_of_towels_washes_or_work_goes_below_nothing(acts in acts()) {
        let shop = after(&acts);
        for piece in shop.book.pieces() {
            if let Some(bundle) = piece.bundle() {
                let clean = bundle.clean_at(piece.readiness, shop.now);
                let least = clean.min(bundle.drying_count).min(bundle.total_count());
                prop_assert!(least >= 0, "{:?}", piece);
            }
            if let Some(pad) = piece.pad() {
                prop_assert!(pad.work.micro_sections().min(pad.wash_count) >= 0, "{:?}", piece);
            }
        }
    }

    /// Measured stretches follow each other, each with something planned and nothing gained; what is
    /// made of them is a range in order.
    #[test]
    fn what_bottles_and_packs_teach_is_in_order(acts in acts()) {
        let shop = after(&acts);
        let tallies = shop.book.pieces().filter_map(|piece| match &piece.state {
            State::Bottle(bottle) => Some(&bottle.tally),
            State::Sundry(sundry) => Some(&sundry.tally),
            _ => None,
        });
        for tally in tallies {
            let stretches = &tally.stretches;
            prop_assert!(stretches.is_sorted_by(|a, b| b.from.is_some_and(|from| a.until <= from)));
            for stretch in stretches {
                prop_assert!(stretch.from.is_none_or(|from| from <= stretch.until));
                prop_assert!(stretch.planned_quantity > 0 && stretch.job_count > 0);
                prop_assert!(stretch.actual_quantity >= 0, "{:?}", stretch);
            }
        }
        for make in ["coarse-compound-1l", "fine-polish-500ml"] {
            let likely = RealUse::of(&shop.book, &id(make), 60_000).of_job(60_000);
            prop_assert!(0 <= likely.low && likely.low < likely.high, "{:?}", likely);
        }
        let gloves = RealUse::of(&shop.book, &id("nitrile-gloves"), 2).of_job(2);
        prop_assert!(0 <= gloves.low && gloves.low <= gloves.high, "{:?}", gloves);
    }

    /// Every pad make can be told of, in finite figures that are in order, whatever was said.
    #[test]
    fn every_make_of_pads_can_be_told_of(acts in acts()) {
        let shop = after(&acts);
        for make in worn_makes(&shop.book) {
            let wear = make_wear(&shop.book, make, shop.now).unwrap();
            let left = wear.pads.iter().flat_map(|pad| [pad.damage_left, pad.jobs_left]);
            for range in [wear.life, wear.jobs].into_iter().chain(left) {
                let figures = [0.0, range.low, range.typical, range.high];
                prop_assert!(figures.is_sorted() && range.high.is_finite(), "{:?}", range);
            }
            let counts = wear.counts;
            let all = counts.failure_count + counts.cut_off_count + counts.in_service_count;
            let pads = shop.book.pieces().filter(|piece| piece.make == *make).count();
            prop_assert_eq!(usize::try_from(all).unwrap(), pads);
            prop_assert_eq!(usize::try_from(counts.in_service_count).unwrap(), wear.pads.len());
        }
    }
}
