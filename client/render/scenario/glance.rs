//! Canned clocks of the kit, a budget and the life of a bottle, from the invented shop.
//!
//! It serves the tests of those screens. The figures only have to look like what the service sends.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{
    BatteryState, BudgetLine, BudgetTotal, GetKitBudgetResponse, GetPieceLifeResponse, GivenBasis,
    GivenToJob, MakeSort, Money, PieceWear, SupplyLife, WearBand,
};

use super::wear::range;
use super::{at, bottle, life};

fn piece(tag: &str, make: &str, sort: MakeSort, damage: Option<f64>) -> PieceWear {
    PieceWear {
        tag: tag.to_owned(),
        make: make.to_owned(),
        make_name: make.replace('-', " "),
        sort: sort.into(),
        damage,
        band: WearBand::Sound.into(),
        ..PieceWear::default()
    }
}

/// A pad, two plates, a machine, a bundle and a battery.
pub(crate) fn pieces() -> Vec<PieceWear> {
    let rating = "Rests on the rating of the policy.".to_owned();
    let plate = |tag, damage, run_time_s, change_count| PieceWear {
        run_time_s: Some(run_time_s),
        rated_run_time_s: Some(1_080_000),
        change_count: Some(change_count),
        rated_change_count: Some(1_000),
        jobs_left: range(88.0, 96.0, 104.0),
        rests_on: rating.clone(),
        ..piece(tag, "plate-125-m8", MakeSort::Plate, Some(damage))
    };
    vec![
        plate("BP-01", 0.137, 44_280, 96),
        plate("BP-02", 0.41, 90_000, 330),
        PieceWear {
            run_time_s: Some(155_000),
            rests_on: "No life is rated for a machine: its hours alone are told.".to_owned(),
            ..piece("M-01", "orbital-150", MakeSort::Machine, None)
        },
        PieceWear {
            work_micro_sections: Some(62_400_000),
            rated_work_micro_sections: Some(185_000_000),
            wash_count: Some(9),
            rated_wash_count: Some(28),
            jobs_left: range(1.6, 4.2, 8.8),
            rests_on: "Rests on 6 retirements here and the rating.".to_owned(),
            ..piece("P-04", "coarse-foam-150", MakeSort::Pad, Some(0.66))
        },
        PieceWear {
            wash_count: Some(31),
            rated_wash_count: Some(50),
            rests_on: rating,
            ..piece("T-01", "edgeless-towel-400g", MakeSort::Towel, Some(0.62))
        },
        PieceWear {
            charge_count: Some(250),
            rated_charge_count: Some(500),
            charge_run_time_s: Some(2_415),
            new_charge_run_time_s: Some(2_700),
            rests_on: "Rests on the rating: no log says yet which batteries ran.".to_owned(),
            ..piece("BT-01", "battery-18", MakeSort::Battery, Some(0.5))
        },
    ]
}

fn eur(amount: &str) -> Option<Money> {
    Some(Money {
        amount: amount.to_owned(),
        currency_code: "EUR".to_owned(),
    })
}

/// A budget in which the gloves have no price.
pub(crate) fn budget() -> GetKitBudgetResponse {
    let total =
        |week_count, until: &str, booked, usual, pieces: [f64; 3], costs: [&str; 3]| BudgetTotal {
            week_count,
            until_date: until.to_owned(),
            booked_job_count: booked,
            usual_job_count: usual,
            piece_count: pieces[0],
            piece_count_low: pieces[1],
            piece_count_high: pieces[2],
            cost: eur(costs[0]),
            cost_low: eur(costs[1]),
            cost_high: eur(costs[2]),
            unpriced_makes: vec!["nitrile-gloves".to_owned()],
        };
    let line = |week_count, make: &str, count: f64, cost: Option<&str>| BudgetLine {
        week_count,
        make: make.to_owned(),
        make_name: make.replace('-', " "),
        piece_count: count,
        piece_count_low: 0.4 * count,
        piece_count_high: 1.8 * count,
        cost: cost.and_then(eur),
        cost_low: cost.and_then(|_| eur("4.00")),
        cost_high: cost.and_then(|_| eur("71.00")),
        price_missing: cost.is_none(),
    };
    GetKitBudgetResponse {
        totals: vec![
            total(4, "2026-12-24", 3, 5.2, [2.1, 0.4, 4.0], ["24.10", "4.00", "46.00"]),
            total(8, "2027-01-21", 3, 12.0, [6.4, 2.2, 11.2], ["118.35", "52.00", "201.00"]),
            total(12, "2027-02-18", 4, 18.0, [12.4, 6.0, 20.0], ["211.90", "121.00", "318.00"]),
        ],
        lines: vec![
            line(4, "coarse-foam-150", 1.6, Some("18.40")),
            line(8, "coarse-foam-150", 3.9, Some("44.85")),
            line(12, "coarse-foam-150", 6.2, Some("71.30")),
            line(8, "nitrile-gloves", 0.8, None),
            line(12, "nitrile-gloves", 1.0, None),
        ],
        rests_on: "3 booked jobs, and beside them what usually comes: 2.1 a week, by 25 jobs done in the last \
             12 weeks."
            .to_owned(),
        caveats: vec![
            "No price is known of nitrile-gloves: the sums are without it.".to_owned(),
            "Machines are not in it: no life is rated for them.".to_owned(),
        ],
    }
}

/// A battery that went to one job.
pub(in crate::render) fn battery_life() -> GetPieceLifeResponse {
    let mut piece = bottle();
    piece.tag = "BT-01".to_owned();
    piece.make = "battery-18".to_owned();
    piece.make_name = "battery 18".to_owned();
    piece.needs_count = false;
    piece.state = Some(State::Battery(BatteryState {
        charge_count: 250,
        full: true,
        full_time: None,
        run_time_s: 2_415,
        rests_on: "Charges that jobs take here: 12 % more than planned, from 3 jobs.".to_owned(),
        damage: 0.5,
        band: WearBand::Sound.into(),
    }));
    GetPieceLifeResponse {
        supply: Some(SupplyLife {
            given: vec![GivenToJob {
                job: "saloon-monday".to_owned(),
                done_time: at(-72),
                planned_quantity: None,
                quantity: 2_300,
                basis: GivenBasis::Said.into(),
            }],
            jobs_left: range(212.0, 249.0, 291.0),
            booked_job_count: 3,
            rests_on:
                "250 charges are left of 500. 1.0 charges a job are reckoned with, from 1 job."
                    .to_owned(),
            ..SupplyLife::default()
        }),
        ..life(piece, &[])
    }
}

/// A bottle that two jobs took of and one booked job empties.
pub(in crate::render) fn bottle_life() -> GetPieceLifeResponse {
    let given = |job: &str, hours: i64, planned, quantity, basis: GivenBasis| GivenToJob {
        job: job.to_owned(),
        done_time: at(hours),
        planned_quantity: planned,
        quantity,
        basis: basis.into(),
    };
    GetPieceLifeResponse {
        supply: Some(SupplyLife {
            reading_count: 2,
            given: vec![
                given("saloon-monday", -72, Some(52_500), 61_400, GivenBasis::Weighed),
                given("", 2, None, 8_000, GivenBasis::Said),
                given("suv-tuesday", 24, Some(68_000), 68_000, GivenBasis::Planned),
            ],
            jobs_left: range(2.1, 2.6, 3.2),
            booked_job_count: 3,
            last_job: "saloon-friday".to_owned(),
            last_job_time: at(48),
            rests_on: "152 mL are left above the heel, and a job takes 61 mL on average, by the latest 6 jobs with \
                 it. You use 17 % more than planned, from 6 jobs."
                .to_owned(),
        }),
        ..life(bottle(), &[])
    }
}
