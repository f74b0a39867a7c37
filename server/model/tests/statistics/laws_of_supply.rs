//! Laws of supply: levels rise with the target, nothing booked is left uncovered, and no figures give no
//! number.

use crate::Moment;
use crate::maths::supply::lead::{LeadPolicy, lead_belief};
use crate::maths::supply::order_date::latest_order_date;
use crate::maths::supply::{
    CountDemand, Dated, JobsPolicy, Lot, OrderCalendar, Stock, VolumeDemand,
    economic_order_with_breaks, jobs_ahead, line_target, net_by_date, pick_first_expiring,
    take_in_order,
};
use jiff::ToSpan;
use jiff::civil::{Date, Weekday, date};
use proptest::prelude::{Strategy, any, prop, prop_assert, prop_assert_eq, proptest};

use super::figures::anything;

const WEEK: [Weekday; 7] = [
    Weekday::Monday,
    Weekday::Tuesday,
    Weekday::Wednesday,
    Weekday::Thursday,
    Weekday::Friday,
    Weekday::Saturday,
    Weekday::Sunday,
];

fn in_order(one: f64, other: f64) -> (f64, f64) {
    (one.min(other), one.max(other))
}

fn variance(pieces: &CountDemand) -> f64 {
    let counts = (0_u32..).zip(pieces.chances());
    let squares = counts.map(|(count, p)| (f64::from(count) - pieces.mean()).powi(2) * p);
    squares.sum()
}

fn day() -> impl Strategy<Value = Date> {
    (0..600_i64).prop_map(|days| date(2026, 1, 1).checked_add(days.days()).unwrap())
}

proptest! {
    #[test]
    fn a_higher_target_never_keeps_less(
        mean in 0.01..60.0,
        lumps in 0.1..8.0,
        p in 0.001..0.999,
        q in 0.001..0.999,
    ) {
        let (low, high) = in_order(p, q);
        let policy = JobsPolicy { weekly_jobs: mean / lumps, prior_weeks: 1.0 };
        let pieces = jobs_ahead(&[], lumps, policy).unwrap().pieces(&[0.0, 1.0]).unwrap();
        prop_assert!((pieces.chances().iter().sum::<f64>() - 1.0).abs() < 1e-12);
        prop_assert!(pieces.level(low).unwrap() <= pieces.level(high).unwrap());
        let level = pieces.level(high).unwrap();
        prop_assert!(pieces.at_most(level) >= high - 1e-12);
        prop_assert!(level == 0 || pieces.at_most(level - 1) < high + 1e-12);
        let volume = VolumeDemand::new(mean, mean * lumps).unwrap();
        prop_assert!(volume.level(low).unwrap() <= volume.level(high).unwrap());
    }

    #[test]
    fn lines_at_their_targets_reach_that_of_the_kit(target in 0.01..0.9999, lines in 1..40_i32) {
        let of_line = line_target(target, usize::try_from(lines).unwrap()).unwrap();
        prop_assert!((of_line.powi(lines) - target).abs() < 1e-12);
        prop_assert!(of_line >= target - 1e-15);
    }

    #[test]
    fn with_its_orders_the_stock_never_falls_below_safety(
        on_hand in 0..200_i64,
        days in prop::collection::vec((0..60_i64, 0..40_i64), 1..20),
        safety in 0..50_i64,
        lot in 1..30_i64,
    ) {
        let on = |at: usize| date(2026, 1, 1).checked_add((at as i64).days()).unwrap();
        let dated = |of: fn(&(i64, i64)) -> i64| -> Vec<Dated> {
            let days = days.iter().enumerate();
            days.map(|(at, day)| Dated { date: on(at), quantity: of(day) }).collect()
        };
        let (needs, due) = (dated(|day| day.0), dated(|day| day.1));
        let stock = Stock { on_hand, due: &due, safety };
        let calendar = OrderCalendar { lead_days: 2, handling_days: 0, order_days: WEEK.to_vec() };
        let orders = net_by_date(&needs, stock, lot, &calendar).unwrap();
        let mut there = on_hand;
        for (at, (needed, delivered)) in days.iter().enumerate() {
            there += delivered - needed;
            let order = orders.iter().find(|order| order.need_on == on(at));
            prop_assert_eq!(order.is_some(), there < safety);
            if let Some(order) = order {
                let lacking = safety - there;
                prop_assert!(order.quantity >= lacking);
                prop_assert!(order.quantity % lot == 0 && order.quantity - lacking < lot);
                prop_assert_eq!(order.order_by, on(at).checked_sub(2.days()).unwrap());
                there += order.quantity;
            }
        }
        prop_assert!(there >= safety);
    }

    #[test]
    fn an_order_day_is_the_last_one_in_time(
        need in day(),
        lead in 0..60_i64,
        handling in 0..5_i64,
        days in prop::collection::vec(0..7_usize, 1..8),
    ) {
        let order_days: Vec<Weekday> = days.into_iter().map(|day| WEEK[day]).collect();
        let latest = need.checked_sub((lead + handling).days()).unwrap();
        let order_by = latest_order_date(need, lead, handling, &order_days).unwrap();
        prop_assert!(order_by <= latest && order_days.contains(&order_by.weekday()));
        let mut later = order_by.tomorrow().unwrap();
        while later <= latest {
            prop_assert!(!order_days.contains(&later.weekday()));
            later = later.tomorrow().unwrap();
        }
        let calendar = OrderCalendar { lead_days: lead, handling_days: handling, order_days };
        prop_assert_eq!(calendar.latest_order_date(need).unwrap(), order_by);
    }

    #[test]
    fn what_expires_first_is_picked_first(
        lots in prop::collection::vec((0..50_i64, prop::option::of(day()), any::<bool>()), 0..12),
        need in 0..200_i64,
        use_date in day(),
    ) {
        let lots: Vec<Lot<usize>> = lots
            .into_iter()
            .enumerate()
            .map(|(tag, (quantity, expires, is_opened))| Lot {
                tag, quantity, expires, is_opened, is_at_hand: true, received: Moment::UNIX_EPOCH,
            })
            .collect();
        let usable = pick_first_expiring(lots.iter().copied(), use_date);
        let expires = |lot: &Lot<usize>| lot.expires.unwrap_or(Date::MAX);
        prop_assert!(usable.iter().all(|lot| expires(lot) >= use_date));
        prop_assert!(usable.windows(2).all(|pair| expires(&pair[0]) <= expires(&pair[1])));
        let in_date = lots.iter().filter(|lot| expires(lot) >= use_date);
        prop_assert_eq!(in_date.count(), usable.len());
        let (taken, short) = take_in_order(usable.iter().map(|lot| (lot, lot.quantity)), need);
        let picked: i64 = taken.iter().map(|(_, quantity)| quantity).sum();
        prop_assert_eq!(picked + short, need);
        // All but the last are emptied.
        for (lot, quantity) in taken.iter().rev().skip(1) {
            prop_assert_eq!(*quantity, lot.quantity);
        }
        prop_assert!(short == 0 || picked == usable.iter().map(|lot| lot.quantity).sum::<i64>());
    }

    #[test]
    fn a_lead_time_lies_between_what_is_stated_and_what_was_seen(
        stated in 1..30_i64,
        taken in prop::collection::vec(0..40_i64, 1..20),
        prior_deliveries in 0.5..9.0,
    ) {
        let policy = LeadPolicy { prior_deliveries, prior_sd_days: 1.0 };
        let belief = lead_belief(stated, &taken, policy).unwrap();
        let seen = taken.iter().sum::<i64>() as f64 / taken.len() as f64;
        let (low, high) = in_order(seen, stated as f64);
        prop_assert!(belief.mean_days >= low - 1e-9 && belief.mean_days <= high + 1e-9);
        let planned = |target| belief.planning_days(target).unwrap();
        prop_assert!(planned(0.5) <= planned(0.9) && planned(0.9) <= planned(0.99));
    }

    /// Source: the moments of a compound count.
    #[test]
    fn pieces_of_unbooked_jobs_have_the_moments_of_a_compound_count(
        counts in prop::collection::vec(0..6_u32, 0..13),
        horizon in 0.1..6.0,
        weights in prop::collection::vec(0.0..1.0, 1..8),
    ) {
        let policy = JobsPolicy { weekly_jobs: 1.5, prior_weeks: 4.0 };
        let jobs = jobs_ahead(&counts, horizon, policy).unwrap();
        let sum: f64 = weights.iter().sum::<f64>() + 0.1;
        let per_job: Vec<f64> = [0.1].iter().chain(&weights).map(|weight| weight / sum).collect();
        let of_job = CountDemand::from_chances(per_job.clone()).unwrap();
        let pieces = jobs.pieces(&per_job).unwrap();
        let volume = jobs.volume(of_job.mean(), variance(&of_job)).unwrap();
        prop_assert!((pieces.mean() - volume.mean()).abs() < 1e-8 * (1.0 + volume.mean()));
        prop_assert!((variance(&pieces) - volume.variance()).abs() < 1e-7 * (1.0 + volume.variance()));
    }

    #[test]
    fn any_figures_give_numbers_or_a_sentence(
        a in anything(),
        b in anything(),
        c in anything(),
        d in anything(),
        series in prop::collection::vec(anything(), 0..8),
        whole in any::<i64>(),
    ) {
        let mut refusals = Vec::new();
        let mut numbers = Vec::new();
        let mut keep = |answer: Result<Vec<f64>, crate::maths::supply::SupplyError>| match answer {
            Ok(answer) => numbers.extend(answer),
            Err(refused) => refusals.push(refused.to_string()),
        };
        keep(economic_order_with_breaks(a, b, c, &[(0.0, d), (a, b)]).map(|order| vec![order.cost]));
        keep(VolumeDemand::new(a, b).and_then(|demand| {
            Ok(vec![demand.level(c)?])
        }));
        keep(CountDemand::from_chances(series).and_then(|demand| {
            let level = demand.level(c)?;
            Ok(vec![demand.at_most(level), demand.at_most(whole)])
        }));
        keep(line_target(a, 7).map(|target| vec![target]));
        let policy = LeadPolicy { prior_deliveries: a, prior_sd_days: b };
        keep(lead_belief(3, &[whole % 50, 4], policy).map(|belief| vec![belief.mean_days, belief.sd_days]));
        keep(lead_belief(whole, &[4], policy).and_then(|belief| belief.planning_days(c)).map(|_| vec![]));
        let policy = JobsPolicy { weekly_jobs: a, prior_weeks: b };
        keep(jobs_ahead(&[1, 2], c, policy).and_then(|jobs| {
            let volume = jobs.volume(d, a)?;
            Ok(vec![jobs.mean(), jobs.variance(), volume.mean(), volume.variance()])
        }));
        prop_assert!(numbers.iter().all(|number| number.is_finite()), "{:?}", numbers);
        prop_assert!(refusals.iter().all(|refused| refused.ends_with('.')), "{:?}", refusals);
    }
}
