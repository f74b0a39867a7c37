//! What a job's materials cost before and after it, and what they are quoted at.

mod hours;

use fettlebook_contract::v1;

use super::{World, fresh, job, one_step};

const JOB: &str = "saloon-thursday";

fn cents(money: Option<&v1::Money>) -> i64 {
    let money = money.unwrap();
    assert_eq!(money.currency_code, "EUR");
    let (whole, parts) = money.amount.split_once('.').unwrap();
    assert_eq!(parts.len(), 2, "{}", money.amount);
    whole.parse::<i64>().unwrap() * 100 + parts.parse::<i64>().unwrap()
}

/// A product of cents and thousandths in cents, half up.
fn part(cents: i64, permille: i64) -> i64 {
    (cents * permille + 500) / 1_000
}

fn cost_of(job: &str) -> v1::GetJobCostRequest {
    v1::GetJobCostRequest {
        job: job.to_owned(),
    }
}

fn ask() -> v1::QuoteJobRequest {
    v1::QuoteJobRequest {
        job: JOB.to_owned(),
        ..Default::default()
    }
}

impl World {
    async fn sheet(&self) -> v1::CostSheet {
        let answer = self.supply().get_job_cost(cost_of(JOB)).await.unwrap();
        answer.into_inner().cost.unwrap()
    }

    async fn quoted(&self, ask: v1::QuoteJobRequest) -> v1::Quote {
        let answer = self.supply().quote_job(ask).await.unwrap();
        answer.into_inner().quote.unwrap()
    }

    async fn log(&self, log: v1::LogUseRequest) -> v1::Entry {
        let log = v1::LogUseRequest {
            request_id: fresh(),
            job: JOB.to_owned(),
            ..log
        };
        let answer = self.jobs().log_use(log).await.unwrap();
        answer.into_inner().entry.unwrap()
    }
}

fn line<'a>(sheet: &'a v1::CostSheet, make: &str) -> &'a v1::CostLine {
    sheet.lines.iter().find(|line| line.make == make).unwrap()
}

/// Reckoned by hand: two pairs of fifty at 7.10 are 0.284, to the cent 0.28.
#[tokio::test]
async fn a_forecast_has_a_range_sums_up_and_says_which_price_is_missing() {
    let world = World::supplied().await;
    let before = world.journal();
    let sheet = world.sheet().await;
    assert_eq!(sheet.job, JOB);
    let gloves = line(&sheet, "nitrile-gloves");
    assert_eq!(gloves.kind(), v1::CostKind::Sundries);
    assert_eq!(cents(gloves.typical.as_ref()), 28);
    for line in &sheet.lines {
        let [low, typical, high] =
            [&line.low, &line.typical, &line.high].map(|m| cents(m.as_ref()));
        assert!(low <= typical && typical <= high, "{line:?}");
        assert_eq!((line.actual.as_ref(), line.difference.as_str()), (None, ""));
        assert_eq!(line.price_missing, line.make == "plate-125-m8", "{line:?}");
    }
    let lines = sheet.lines.iter();
    let sum: i64 = lines.map(|line| cents(line.typical.as_ref())).sum();
    assert_eq!(cents(sheet.typical.as_ref()), sum);
    let [low, high] = [&sheet.low, &sheet.high].map(|money| cents(money.as_ref()));
    assert!(low <= sum && sum <= high);
    assert!(sheet.actual.is_none() && sheet.machine_time_s > 0);
    assert!(
        sheet
            .caveats
            .iter()
            .any(|text| text.contains("plate-125-m8"))
    );
    assert_eq!(world.journal(), before);
}

/// Reckoned by hand: 100 mL of a litre at 28.00 are 2.80.
#[tokio::test]
async fn once_done_a_job_costs_what_was_used_and_the_sheet_says_why_it_differs() {
    let world = World::supplied().await;
    let poured = v1::LiquidAmount {
        amount: Some(v1::liquid_amount::Amount::VolumeUl(100_000)),
    };
    let poured = v1::BottleUse {
        bottle: "B-01".to_owned(),
        amount: Some(poured),
    };
    let logged = world
        .log(v1::LogUseRequest {
            bottles: vec![poured],
            ..Default::default()
        })
        .await;
    let sheet = world.sheet().await;
    let liquid = line(&sheet, "coarse-compound-1-l");
    assert_eq!(cents(liquid.actual.as_ref()), 280);
    assert!(liquid.difference.ends_with('.'), "{liquid:?}");
    let lines = sheet.lines.iter();
    let sum: i64 = lines.map(|line| cents(line.actual.as_ref())).sum();
    assert_eq!(cents(sheet.actual.as_ref()), sum);

    let request = v1::ReverseEntryRequest {
        request_id: fresh(),
        seq: logged.seq,
        ..Default::default()
    };
    world.book().reverse_entry(request).await.unwrap();
    let sheet = world.sheet().await;
    assert!(sheet.actual.is_none());
    assert!(sheet.lines.iter().all(|line| line.actual.is_none()));
}

/// Source of tax once on the sum and rounded to the cent: EN 16931-1, BR-CO-17. That a markup of
/// 1000 thousandths on cost is a margin of 500 on price is algebra.
#[tokio::test]
async fn a_quote_sums_to_the_cent_and_markup_and_margin_meet() {
    let world = World::supplied().await;
    let before = world.journal();
    let marked_up = v1::QuoteJobRequest {
        markup_permille: Some(1_000),
        tax_permille: Some(210),
        valid_days: Some(14),
        ..ask()
    };
    let quote = world.quoted(marked_up).await;
    assert_eq!(
        (quote.date.as_str(), quote.valid_until_date.as_str()),
        ("2026-06-03", "2026-06-17")
    );
    assert_eq!(
        (quote.job.as_str(), quote.routine.as_str()),
        (JOB, "one step")
    );
    assert!(quote.car.contains("silver"), "{}", quote.car);
    let sheet = quote.cost.clone().unwrap();
    assert_eq!(sheet, world.sheet().await);
    for (line, cost) in quote.lines.iter().zip(&sheet.lines) {
        assert!(!line.text.is_empty());
        assert_eq!(cents(line.net.as_ref()), 2 * cents(cost.typical.as_ref()));
    }
    assert_eq!(quote.lines.len(), sheet.lines.len());
    let net: i64 = quote
        .lines
        .iter()
        .map(|line| cents(line.net.as_ref()))
        .sum();
    let tax = part(net, 210);
    assert_eq!(
        [&quote.net, &quote.tax, &quote.gross].map(|money| cents(money.as_ref())),
        [net, tax, net + tax]
    );
    assert_eq!(
        (quote.markup_permille, quote.margin_permille),
        (Some(1_000), None)
    );
    assert_eq!((quote.tax_permille, quote.tax_milli_percent), (210, 21_000));

    let finer = v1::QuoteJobRequest {
        markup_permille: Some(1_000),
        tax_milli_percent: Some(8_875),
        ..ask()
    };
    let finer = world.quoted(finer).await;
    assert_eq!((finer.tax_permille, finer.tax_milli_percent), (89, 8_875));
    // Cents times 8,875 of 100,000, a half up.
    let finer_tax = (net * 8_875 + 50_000) / 100_000;
    assert_eq!(cents(finer.tax.as_ref()), finer_tax);

    let by_margin = v1::QuoteJobRequest {
        margin_permille: Some(500),
        tax_permille: Some(0),
        ..ask()
    };
    let same = world.quoted(by_margin).await;
    assert_eq!(same.lines, quote.lines);
    assert_eq!((cents(same.tax.as_ref()), same.gross), (0, quote.net));
    assert_eq!(world.journal(), before);
}

/// Reckoned by hand: 6.5 h at 45.00 are 292.50.
#[tokio::test]
async fn labour_is_quoted_along_as_it_is_said_and_one_line_comes_to_the_same() {
    let world = World::supplied().await;
    let money = |amount: &str, currency: &str| {
        Some(v1::Money {
            amount: amount.to_owned(),
            currency_code: currency.to_owned(),
        })
    };
    let itemised = world.quoted(ask()).await;
    assert_eq!(itemised.labour, None);
    let materials = cents(itemised.net.as_ref());
    let by_the_hour = v1::QuoteJobRequest {
        labour_time_s: Some(23_400),
        labour_rate: money("45", "EUR"),
        one_line: true,
        ..ask()
    };
    let quote = world.quoted(by_the_hour.clone()).await;
    assert_eq!(cents(quote.labour.as_ref()), 29_250);
    let lines: Vec<(&str, i64)> = quote
        .lines
        .iter()
        .map(|line| (line.text.as_str(), cents(line.net.as_ref())))
        .collect();
    assert_eq!(
        lines,
        [
            ("labour, 6 h 30 min at 45.00 EUR an hour", 29_250),
            ("materials", materials)
        ]
    );
    assert_eq!(cents(quote.net.as_ref()), materials + 29_250);
    let as_a_sum = v1::QuoteJobRequest {
        labour_net: money("270", "EUR"),
        ..ask()
    };
    let quote = world.quoted(as_a_sum.clone()).await;
    assert_eq!(quote.lines.len(), itemised.lines.len() + 1);
    assert_eq!(quote.lines[1..], itemised.lines);
    assert_eq!(cents(quote.lines[0].net.as_ref()), 27_000);

    let mut supply = world.supply();
    let twice = v1::QuoteJobRequest {
        labour_net: money("270", "EUR"),
        ..by_the_hour.clone()
    };
    let without_rate = v1::QuoteJobRequest {
        labour_rate: None,
        ..by_the_hour.clone()
    };
    let without_time = v1::QuoteJobRequest {
        labour_time_s: None,
        ..by_the_hour.clone()
    };
    let no_time = v1::QuoteJobRequest {
        labour_time_s: Some(0),
        ..by_the_hour.clone()
    };
    let abroad = v1::QuoteJobRequest {
        labour_rate: money("45", "GBP"),
        ..by_the_hour
    };
    let below = v1::QuoteJobRequest {
        labour_net: money("-1", "EUR"),
        ..as_a_sum
    };
    refused! {
        supply.quote_job(twice) => "FIELD_INVALID" "labour_net";
        supply.quote_job(without_rate) => "FIELD_MISSING" "labour_rate";
        supply.quote_job(without_time) => "FIELD_MISSING" "labour_time_s";
        supply.quote_job(no_time) => "QUANTITY_INVALID" "labour_time_s";
        supply.quote_job(abroad) => "CURRENCY_MISMATCH" "labour_rate";
        supply.quote_job(below) => "FIELD_INVALID" "labour_net";
    }
}

#[tokio::test]
async fn what_a_quote_does_not_say_is_the_books_policy() {
    let world = World::supplied().await;
    let changes = [
        ("markup_permille", 1_500),
        ("tax_permille", 90),
        ("quote_valid_days", 7),
    ]
    .map(|(key, value)| v1::PolicyChange {
        key: key.to_owned(),
        value: Some(value),
    });
    let request = v1::UpdatePolicyRequest {
        request_id: fresh(),
        changes: changes.into(),
        ..Default::default()
    };
    world.book().update_policy(request).await.unwrap();
    let quote = world.quoted(ask()).await;
    let said = v1::QuoteJobRequest {
        markup_permille: Some(1_500),
        tax_permille: Some(90),
        valid_days: Some(7),
        ..ask()
    };
    let as_said = world.quoted(said).await;
    assert_eq!(quote.valid_until_date, "2026-06-10");
    assert_eq!(
        (quote.lines, quote.tax, quote.gross),
        (as_said.lines, as_said.tax, as_said.gross)
    );
}

#[tokio::test]
async fn a_quote_that_makes_no_sense_is_not_made() {
    let world = World::supplied().await;
    let (before, mut supply) = (world.journal(), world.supply());
    let of = |job: &str| v1::QuoteJobRequest {
        job: job.to_owned(),
        ..ask()
    };
    let markup = |permille| v1::QuoteJobRequest {
        markup_permille: Some(permille),
        ..ask()
    };
    let margin = |permille| v1::QuoteJobRequest {
        margin_permille: Some(permille),
        ..ask()
    };
    let tax = |permille| v1::QuoteJobRequest {
        tax_permille: Some(permille),
        ..ask()
    };
    let twice = v1::QuoteJobRequest {
        tax_milli_percent: Some(21_000),
        ..tax(210)
    };
    let finer = v1::QuoteJobRequest {
        tax_milli_percent: Some(100_001),
        ..ask()
    };
    let days = |days| v1::QuoteJobRequest {
        valid_days: Some(days),
        ..ask()
    };
    let both = v1::QuoteJobRequest {
        markup_permille: Some(500),
        ..margin(500)
    };
    refused! {
        supply.quote_job(of("")) => "FIELD_MISSING" "job";
        supply.quote_job(of("Thursday")) => "FIELD_INVALID" "job";
        supply.quote_job(of("friday")) => "JOB_UNKNOWN" "job";
        supply.quote_job(both) => "FIELD_INVALID" "margin_permille";
        supply.quote_job(markup(-1)) => "QUANTITY_INVALID" "markup_permille";
        supply.quote_job(markup(i64::MAX)) => "QUANTITY_INVALID" "markup_permille";
        supply.quote_job(margin(1_000)) => "QUANTITY_INVALID" "margin_permille";
        supply.quote_job(margin(i64::MIN)) => "QUANTITY_INVALID" "margin_permille";
        supply.quote_job(tax(1_001)) => "QUANTITY_INVALID" "tax_permille";
        supply.quote_job(twice) => "FIELD_INVALID" "tax_milli_percent";
        supply.quote_job(finer) => "QUANTITY_INVALID" "tax_milli_percent";
        supply.quote_job(days(0)) => "QUANTITY_INVALID" "valid_days";
        supply.quote_job(days(i64::MAX)) => "QUANTITY_INVALID" "valid_days";
        supply.get_job_cost(cost_of("")) => "FIELD_MISSING" "job";
        supply.get_job_cost(cost_of("Thursday")) => "FIELD_INVALID" "job";
        supply.get_job_cost(cost_of("friday")) => "JOB_UNKNOWN" "job";
    }
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn a_job_without_prices_or_a_plan_or_in_two_currencies_has_no_cost() {
    let unpriced = World::shop().await;
    refused! {
        unpriced.supply().get_job_cost(cost_of(JOB)) => "FIELD_MISSING" "make.price";
        unpriced.supply().quote_job(ask()) => "FIELD_MISSING" "make.price";
    }
    let world = World::supplied().await;
    let without_bonnet = v1::Job {
        left_out_panels: vec!["bonnet".to_owned()],
        ..job("no-bonnet")
    };
    let request = v1::BookJobRequest {
        request_id: fresh(),
        job: Some(without_bonnet),
    };
    world.jobs().book_job(request).await.unwrap();
    let mut bonnet_only = one_step();
    bonnet_only.steps[0].panels = vec!["bonnet".to_owned()];
    let request = v1::UpdateRoutineRequest {
        request_id: fresh(),
        routine: Some(bonnet_only),
        update_mask: None,
    };
    world.jobs().update_routine(request).await.unwrap();
    let nothing = v1::QuoteJobRequest {
        job: "no-bonnet".to_owned(),
        ..Default::default()
    };
    refused! {
        world.supply().get_job_cost(cost_of("no-bonnet")) => "NO_PLAN" "job.left_out_panels";
        world.supply().quote_job(nothing) => "NO_PLAN" "job.left_out_panels";
    }
    let dollars = v1::Money {
        amount: "40.00".to_owned(),
        currency_code: "USD".to_owned(),
    };
    let request = v1::UpdateMakeRequest {
        request_id: fresh(),
        make: Some(v1::Make {
            make: "plate-125-m8".to_owned(),
            price: Some(dollars),
            ..Default::default()
        }),
        update_mask: None,
    };
    world.kit().update_make(request).await.unwrap();
    refused! {
        world.supply().get_job_cost(cost_of(JOB)) => "CURRENCY_MISMATCH" "make.price";
        world.supply().quote_job(ask()) => "CURRENCY_MISMATCH" "make.price";
    }
}
